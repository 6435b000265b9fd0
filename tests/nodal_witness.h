#pragma once

#include "core/nodal/nodal_solver.h"

namespace benchproof {

/// The nodal witness as a function of a network alone.
inline Solution by_nodal(const Network& network) { return solve_nodal(network); }

}  // namespace benchproof
