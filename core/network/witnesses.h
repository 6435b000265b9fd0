#pragma once

#include "core/network/network.h"
#include "core/network/timeline.h"

namespace benchproof {

/// All that one may ask of both witnesses.
struct Witnesses {
  Solve nodal_near;  ///< May start from its last solution.
  Solve engine;
  Solve nodal;  ///< From a cold start.
  SolveUntil nodal_until;
  SolveInTime engine_in_time;
  SolveInTime nodal_in_time;
};

}  // namespace benchproof
