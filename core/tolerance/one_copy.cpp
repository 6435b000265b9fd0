#include "core/tolerance/one_copy.h"

#include <algorithm>
#include <deque>
#include <numeric>

#include "core/tolerance/copies.h"

namespace benchproof {

OneCopy one_copy(Circuit& circuit, std::size_t index, std::uint64_t seed,
                 const std::vector<std::string>& only, const Solve& engine,
                 const Solve& nodal) {
  OneCopy copy;
  copy.spreads = spreads_of(circuit);
  copy.places.resize(copy.spreads.size());
  Draw(copy.spreads, seed).places(index, copy.places.data());
  for (std::size_t k = 0; k < copy.spreads.size(); ++k) {
    copy.values.push_back(value_at(copy.spreads[k], circuit.parts, copy.places[k]));
    if (copy.spreads[k].part < 0) circuit.ambient = copy.values.back();
  }
  std::vector<std::size_t> all(copy.spreads.size());
  std::iota(all.begin(), all.end(), 0U);
  std::deque<PosedState> posed;
  for (const State& state : circuit.states) {
    const bool is_asked =
        only.empty() || std::find(only.begin(), only.end(), state.name) != only.end();
    if (!state.steady || !is_asked) continue;
    posed.emplace_back(circuit, state,
                       posed.empty() ? nullptr : posed.back().structure());
    const std::vector<Network> networks =
        networks_at(copy.spreads, all, copy.places.data(), posed.back());
    if (!networks.empty()) posed.back().replace(networks);
  }
  copy.verification = verify_as_posed(posed, engine, nodal);
  return copy;
}

}  // namespace benchproof
