#include "core/network/unlimited.h"

#include <algorithm>
#include <cmath>

#include "core/device/bipolar.h"
#include "core/device/diode.h"

namespace benchproof {
namespace {

/// A demand that v[to] - v[from] <= most.
struct Demand {
  int from = 0;
  int to = 0;
  double most = 0.0;
  int part = -1;
  bool is_junction = false;
};

/// What a loop must exceed its junctions by to count: rounding of sums of voltages.
constexpr double kExcess = 1e-6;  // volt

/// What voltage sources and coils without a winding demand.
std::vector<Demand> fixed_demands(const Network& network) {
  const Structure& s = *network.structure;
  const Values& v = network.values;
  std::vector<Demand> demands;
  const auto fixed = [&demands](const TwoEnds& e, double volts) {
    demands.push_back({e.b, e.a, volts, e.origin.part, false});
    demands.push_back({e.a, e.b, -volts, e.origin.part, false});
  };
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    fixed(s.voltage_sources[k], v.volts[k]);
  }
  for (std::size_t k = 0; k < s.inductors.size(); ++k)
    if (!is_wound(v.coils[k])) fixed(s.inductors[k], 0.0);
  return demands;
}

/// Puts with them what junctions demand where nothing limits their current.
void add_junctions(const Network& network, std::vector<Demand>& demands) {
  const Structure& s = *network.structure;
  const Values& v = network.values;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const TwoEnds& e = s.diodes[k];
    const DiodeAt d = at(v.diodes[k], network.celsius);
    const double inside = d.rs * kUnlimitedAmps;
    const double forward = d.nvt * std::log1p(kUnlimitedAmps / d.is);
    demands.push_back({e.b, e.a, forward + inside, e.origin.part, true});
    if (!std::isfinite(d.breakdown)) continue;
    const double back = d.breakdown + d.nvt_breakdown * std::log(kUnlimitedAmps / d.is);
    demands.push_back({e.a, e.b, back + inside, e.origin.part, true});
  }
  for (std::size_t k = 0; k < s.bipolars.size(); ++k) {
    const auto [collector, base, emitter] = s.bipolars[k].ends;
    const BipolarAt t = at(v.bipolars[k], network.celsius);
    const int part = s.bipolars[k].origin.part;
    const auto junction = [&demands, &t, part](int from, int end, double nvt,
                                               double gain) {
      const double most = nvt * std::log1p(kUnlimitedAmps * gain / t.is);
      t.sign > 0.0 ? demands.push_back({end, from, most, part, true})
                   : demands.push_back({from, end, most, part, true});
    };
    junction(base, emitter, t.nvt_forward, t.bf);
    junction(base, collector, t.nvt_reverse, t.br);
  }
}

/// The same without any voltage across a junction, which demands more: where that can
/// be met nothing else has to be worked out.
void add_shorted_junctions(const Network& network, std::vector<Demand>& demands) {
  const Structure& s = *network.structure;
  const Values& v = network.values;
  for (std::size_t k = 0; k < s.diodes.size(); ++k) {
    const auto [a, b] = std::pair(s.diodes[k].a, s.diodes[k].b);
    demands.push_back({b, a});
    if (std::isfinite(v.diodes[k].bv)) demands.push_back({a, b});
  }
  for (std::size_t k = 0; k < s.bipolars.size(); ++k) {
    const auto [collector, base, emitter] = s.bipolars[k].ends;
    for (const int end : {collector, emitter}) {
      demands.push_back(v.bipolars[k].is_pnp ? Demand{base, end} : Demand{end, base});
    }
  }
}

/// A node that is still lowered after as many rounds as there are nodes, -1 where all
/// demands can be met; `by` is told the demand that last lowered each.
int still_lowered(const std::vector<Demand>& demands, std::size_t nodes,
                  std::vector<int>& by) {
  // Every node may begin at 0: the least potentials that meet all demands lie below.
  std::vector<double> potential(nodes, 0.0);
  by.assign(nodes, -1);
  int lowered = -1;
  for (std::size_t round = 0; round <= nodes; ++round) {
    lowered = -1;
    for (std::size_t k = 0; k < demands.size(); ++k) {
      const Demand& d = demands[k];
      if (!(potential[d.from] + d.most < potential[d.to] - kExcess)) continue;
      potential[d.to] = potential[d.from] + d.most;
      by[d.to] = static_cast<int>(k);
      lowered = d.to;
    }
    if (lowered < 0) return -1;
  }
  return lowered;
}

}  // namespace

std::vector<int> unlimited_loop(const Network& network) {
  const std::size_t nodes = network.structure->nodes.size();
  std::vector<int> by;
  std::vector<Demand> demands = fixed_demands(network);
  const std::size_t fixed = demands.size();
  add_shorted_junctions(network, demands);
  if (still_lowered(demands, nodes, by) < 0) return {};
  demands.resize(fixed);
  add_junctions(network, demands);
  const int lowered = still_lowered(demands, nodes, by);
  if (lowered < 0) return {};
  // Back along the demands lies a cycle.
  int node = lowered;
  for (std::size_t k = 0; k < nodes; ++k) node = demands[by[node]].from;
  std::vector<Demand> cycle;
  const int start = node;
  do {
    cycle.push_back(demands[by[node]]);
    node = cycle.back().from;
  } while (node != start);
  std::stable_partition(cycle.begin(), cycle.end(),
                        [](const Demand& d) { return d.is_junction; });
  std::vector<int> parts;
  for (const Demand& d : cycle) {
    if (std::find(parts.begin(), parts.end(), d.part) == parts.end()) {
      parts.push_back(d.part);
    }
  }
  return parts;
}

}  // namespace benchproof
