#pragma once

#include <chrono>
#include <functional>
#include <string>
#include <utility>

#include "core/network/network.h"

namespace benchproof {

/// A time for many questions together. Each witness bounds what it does for one, but a
/// description may have thousands.
class Patience {
 public:
  /// Begins now. `at_most` is 0 or more.
  explicit Patience(std::chrono::seconds at_most);

  /// The witness (a Solve, SolveInTime or SolveUntil) with this patience: what it is
  /// asked after the end has no answer, with the status `too_late`. A question that it
  /// is at when the time ends is still answered.
  template <typename Answer, typename... Question>
  [[nodiscard]] std::function<Answer(Question...)> bound(
      std::function<Answer(Question...)> witness, SolveStatus too_late) const {
    return [patience = *this, witness = std::move(witness),
            too_late](Question... question) {
      return Clock::now() < patience.end_
                 ? witness(std::forward<Question>(question)...)
                 : no_answer<Answer>(too_late, patience.reason_);
    };
  }

 private:
  using Clock = std::chrono::steady_clock;

  Clock::time_point end_;
  std::string reason_;
};

/// What one description may take, its states and runs together: several times the
/// longest that those within the limits of the reader were seen to take.
inline constexpr std::chrono::seconds kForOneDescription{180};

}  // namespace benchproof
