#pragma once

#include "core/network/witnesses.h"
#include "core/nodal/nodal_solver.h"

namespace benchproof::test {

/// The nodal solver, but for the search and the engine.
inline Witnesses witnesses(const Solve& search, const Solve& engine) {
  Witnesses all;
  all.nodal = solve_nodal;
  all.nodal_near = search;
  all.another_near = [search] { return search; };
  all.engine = engine;
  return all;
}

}  // namespace benchproof::test
