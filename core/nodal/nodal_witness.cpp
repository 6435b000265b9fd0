#include "core/nodal/nodal_witness.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace benchproof {
namespace {

/// How far two lists of values are apart: the sum of the shares by which they differ.
double apart(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0.0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    if (a[k] != b[k])
      sum += std::abs(a[k] - b[k]) / std::max(std::abs(a[k]), std::abs(b[k]));
  }
  return sum;
}

}  // namespace

Solution NodalWitness::solve(const Network& network) {
  ++counts_.cold;
  Solution solution = known(network).solver.operating_point(network);
  counts_.iterations += static_cast<std::size_t>(solution.iterations);
  return solution;
}

Solution NodalWitness::solve_near(const Network& network) {
  Known& k = known(network);
  const Values& values = network.values;
  const Solution* near = nearest(k.starts, values);
  ++(near != nullptr ? counts_.near : counts_.cold);
  Solution solution = k.solver.operating_point(network, near);
  counts_.iterations += static_cast<std::size_t>(solution.iterations);
  if (solution.status != SolveStatus::solved) return solution;
  // The oldest start's memory serves for the latest.
  if (k.starts.size() < kMostStarts)
    k.starts.emplace_back();
  else
    std::rotate(k.starts.begin(), k.starts.begin() + 1, k.starts.end());
  Start& latest = k.starts.back();
  latest.ohms = values.ohms;
  latest.volts = values.volts;
  latest.amps = values.amps;
  latest.solution = solution;
  return solution;
}

/// The one whose values are least apart, of equal ones the latest; null where there is
/// none.
const Solution* NodalWitness::nearest(const std::vector<Start>& starts,
                                      const Values& values) {
  const Solution* nearest = nullptr;
  double least = std::numeric_limits<double>::infinity();
  for (auto start = starts.rbegin(); start != starts.rend(); ++start) {
    const double here = apart(start->ohms, values.ohms) +
                        apart(start->volts, values.volts) +
                        apart(start->amps, values.amps);
    if (!(here < least)) continue;
    least = here;
    nearest = &start->solution;
  }
  return nearest;
}

/// The solver of the network's structure, which is the latest used then.
NodalWitness::Known& NodalWitness::known(const Network& network) {
  const auto found = std::find_if(
      known_.begin(), known_.end(),
      [&network](const Known& known) { return known.structure == network.structure; });
  if (found != known_.end()) {
    std::rotate(found, found + 1, known_.end());
    return known_.back();
  }
  if (known_.size() == kMostSolvers) known_.erase(known_.begin());
  known_.push_back({network.structure, NodalSolver(network.structure), {}});
  ++counts_.solvers;
  return known_.back();
}

}  // namespace benchproof
