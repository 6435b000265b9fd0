#include "core/assemble/as_built.h"

#include <algorithm>
#include <numeric>
#include <optional>

#include "core/circuit/rewire.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Which nets hang together by what carries a current at rest.
class DcGroups {
 public:
  explicit DcGroups(std::size_t nets) : parents_(nets) {
    std::iota(parents_.begin(), parents_.end(), 0);
  }

  int of(int net) {
    while (parents_[net] != net) net = parents_[net] = parents_[parents_[net]];
    return net;
  }

  void join(int a, int b) { parents_[of(b)] = of(a); }

 private:
  std::vector<int> parents_;
};

bool carries_at_rest(const Circuit& circuit, const Part& part) {
  if (part.kind == KindId::capacitor) return is_in_series_electrolytic(circuit, part);
  return part.kind != KindId::current_source;
}

/// Takes out the parts of which a pin stands where neither ground nor a source is.
void leave_out_islands(const Circuit& whole, std::vector<bool>& is_there) {
  DcGroups islands(whole.nets.size());
  for (std::size_t k = 0; k < whole.parts.size(); ++k) {
    const Part& part = whole.parts[k];
    if (!is_there[k] || !carries_at_rest(whole, part)) continue;
    int first = -1;
    for (const int net : part.nets) {
      if (net < 0) continue;
      if (first >= 0) islands.join(first, net);
      first = net;
    }
  }
  std::vector<bool> is_held(whole.nets.size(), false);
  is_held[islands.of(0)] = true;
  for (std::size_t k = 0; k < whole.parts.size(); ++k)
    if (is_there[k] && is_source(whole.parts[k].kind) && whole.parts[k].nets[0] >= 0)
      is_held[islands.of(whole.parts[k].nets[0])] = true;
  for (std::size_t k = 0; k < whole.parts.size(); ++k)
    for (const int net : whole.parts[k].nets)
      if (net >= 0 && !is_held[islands.of(net)]) is_there[k] = false;
}

void take_parts(const Circuit& whole, const std::vector<bool>& is_there,
                AsBuilt& built) {
  built.parts.assign(whole.parts.size(), -1);
  built.nets.assign(whole.nets.size(), -1);
  std::vector<bool> is_used(whole.nets.size(), false);
  is_used[0] = true;
  for (std::size_t k = 0; k < whole.parts.size(); ++k) {
    if (!is_there[k]) continue;
    built.parts[k] = static_cast<int>(built.circuit.parts.size());
    built.circuit.parts.push_back(whole.parts[k]);
    for (const int net : whole.parts[k].nets)
      if (net >= 0) is_used[net] = true;
  }
  for (std::size_t n = 0; n < whole.nets.size(); ++n) {
    if (!is_used[n]) continue;
    built.nets[n] = static_cast<int>(built.circuit.nets.size());
    built.circuit.nets.push_back({whole.nets[n].name, {}, whole.nets[n].span});
    for (const PinRef pin : whole.nets[n].pins)
      if (built.parts[pin.part] >= 0)
        built.circuit.nets.back().pins.push_back({built.parts[pin.part], pin.pin});
  }
  for (Part& part : built.circuit.parts)
    for (int& net : part.nets)
      if (net >= 0) net = built.nets[net];
}

State state_there(const State& state, const std::vector<int>& parts) {
  State there;
  there.name = state.name;
  there.steady = state.steady;
  there.span = state.span;
  for (const auto& [pin, setting] : state.outputs)
    if (parts[pin.part] >= 0) there.outputs[{parts[pin.part], pin.pin}] = setting;
  for (const auto& [part, closed] : state.closed)
    if (parts[part] >= 0) there.closed[parts[part]] = closed;
  for (const auto& [target, setting] : state.settings)
    if (parts[target.first] >= 0)
      there.settings[{parts[target.first], target.second}] = setting;
  for (const auto& [part, type] : state.types)
    if (parts[part] >= 0) there.types[parts[part]] = type;
  return there;
}

void take_spreads(const Circuit& whole, AsBuilt& built) {
  for (Spreading spreading : whole.spreadings) {
    if (spreading.part >= 0 && built.parts[spreading.part] < 0) continue;
    if (spreading.part >= 0) spreading.part = built.parts[spreading.part];
    built.circuit.spreadings.push_back(std::move(spreading));
  }
  for (const std::vector<int>& reel : whole.reels) {
    std::vector<int> there;
    for (const int part : reel)
      if (built.parts[part] >= 0) there.push_back(built.parts[part]);
    if (there.size() > 1) built.circuit.reels.push_back(std::move(there));
  }
}

}  // namespace

AsBuilt as_built(const Circuit& whole, const std::vector<bool>& is_there) {
  AsBuilt built;
  built.circuit.title = whole.title;
  built.circuit.ambient = whole.ambient;
  std::vector<bool> there = is_there;
  leave_out_islands(whole, there);
  take_parts(whole, there, built);
  for (const State& state : whole.states)
    built.circuit.states.push_back(state_there(state, built.parts));
  for (const auto& [part, types] : whole.charges)
    if (built.parts[part] >= 0) built.circuit.charges[built.parts[part]] = types;
  take_spreads(whole, built);
  built.is_whole = !built.circuit.parts.empty() && settle_wiring(built.circuit);
  return built;
}

}  // namespace benchproof
