#include "core/check/agree/detail/leaks.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/network/equations.h"

namespace benchproof {
namespace {

bool is_voltage_held(const Structure& s, int node) {
  const auto has = [node](const auto& elements) {
    return std::any_of(elements.begin(), elements.end(),
                       [node](const TwoEnds& e) { return e.a == node || e.b == node; });
  };
  return has(s.voltage_sources) || has(s.inductors) ||
         std::any_of(
             s.regulators.begin(), s.regulators.end(), [node](const ThreeEnds& e) {
               return std::find(e.ends.begin(), e.ends.end(), node) != e.ends.end();
             });
}

/// All capacitances at a node. Farad.
double farads_at(const Network& network, std::size_t node) {
  const Structure& s = *network.structure;
  double farads = 0.0;
  const auto add = [&](const auto& elements, const std::vector<double>& values) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      const bool is_here = static_cast<std::size_t>(elements[k].a) == node ||
                           static_cast<std::size_t>(elements[k].b) == node;
      if (is_here) farads += values[k];
    }
  };
  add(s.capacitors, network.values.farads);
  add(s.strays, network.values.stray_farads);
  return farads;
}

/// The sum of currents at a node, but for those that voltages do not determine.
double sum_at(const Network& network, const std::vector<double>& volts,
              std::size_t node) {
  const Structure& s = *network.structure;
  Currents none;
  none.inductors.assign(s.inductors.size(), 0.0);
  none.voltage_sources.assign(s.voltage_sources.size(), 0.0);
  none.regulators.assign(s.regulators.size(), {});
  std::vector<double> sum(s.nodes.size(), 0.0);
  std::vector<double> largest(s.nodes.size(), 0.0);
  sum_at_nodes(s, currents_at(network, volts, none), sum, largest);
  return sum[node];
}

}  // namespace

double current_between(const Network& network, const std::vector<double>& one,
                       const std::vector<double>& other, std::size_t node,
                       double seconds) {
  if (is_voltage_held(*network.structure, static_cast<int>(node))) return HUGE_VAL;
  const double charging = seconds > 0.0 ? farads_at(network, node) / seconds : 0.0;
  double most = charging * std::abs(one[node] - other[node]);
  for (const auto& [from, to] : {std::pair{&one, &other}, std::pair{&other, &one}}) {
    std::vector<double> moved = *from;
    moved[node] = (*to)[node];
    most = std::max(most, charging * std::abs(one[node] - other[node]) +
                              std::abs(sum_at(network, moved, node) -
                                       sum_at(network, *from, node)));
  }
  return std::isfinite(most) ? most : HUGE_VAL;
}

}  // namespace benchproof
