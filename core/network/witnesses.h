#pragma once

#include <cstddef>
#include <functional>

#include "core/network/network.h"
#include "core/network/timeline.h"

namespace benchproof {

/// Does `job(k)` for each k below `jobs`, perhaps several at once: the first begins
/// first, so that others may wait for what it does.
/// Returns when all are done; what a job throws is passed on.
using SideBySide =
    std::function<void(std::size_t jobs, const std::function<void(std::size_t)>& job)>;

/// One job after the other.
inline void in_turn(std::size_t jobs, const std::function<void(std::size_t)>& job) {
  for (std::size_t k = 0; k < jobs; ++k) job(k);
}

/// All that one may ask of both witnesses, and how many questions are asked at once.
struct Witnesses {
  Solve nodal_near;  ///< May start from a solution that it has found before.
  /// Makes a `nodal_near` that has found nothing yet, for another thread.
  std::function<Solve()> another_near;
  Solve engine;
  Solve nodal;  ///< From a cold start.
  SolveUntil nodal_until;
  SolveInTime engine_in_time;
  /// Makes an `engine_in_time` with an engine of its own, for another thread, where it
  /// must have its end too.
  std::function<SolveInTime()> another_engine;
  SolveInTime nodal_in_time;
  /// The witnesses in time are asked side by side, and the engine beside the others;
  /// each of those at rest only one question at a time, but for those of
  /// `another_near`.
  SideBySide side_by_side = in_turn;
};

}  // namespace benchproof
