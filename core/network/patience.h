#pragma once

#include <chrono>
#include <string>

#include "core/network/network.h"
#include "core/network/timeline.h"

namespace benchproof {

/// A time for many questions together. Each witness bounds what it does for one, but a
/// description may have thousands.
class Patience {
 public:
  /// Begins now. `at_most` is 0 or more.
  explicit Patience(std::chrono::seconds at_most);

  /// The same witness, which has no answer (with the status `too_late`) to what it is
  /// asked after the end. What it is at then it finishes.
  [[nodiscard]] Solve bound(Solve witness, SolveStatus too_late) const;
  [[nodiscard]] SolveInTime bound(SolveInTime witness, SolveStatus too_late) const;
  [[nodiscard]] SolveUntil bound(SolveUntil witness, SolveStatus too_late) const;

 private:
  std::chrono::steady_clock::time_point end_;
  std::string reason_;
};

/// What one description may take, its states and runs together: several times the
/// longest that those within the limits of the reader were seen to take.
inline constexpr std::chrono::seconds kForOneDescription{180};

}  // namespace benchproof
