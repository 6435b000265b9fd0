#include "core/tolerance/one_copy.h"

#include <deque>

#include "core/tolerance/states/copies.h"
#include "core/verify/hand_rules.h"

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
  std::deque<PosedState> posed = pose_states(circuit, only);
  for (PosedState& state : posed) {
    const std::vector<Network> networks =
        networks_at(copy.spreads, copy.places.data(), state);
    if (!networks.empty()) state.replace(networks);
  }
  copy.verification = verify_as_posed(posed, engine, nodal);
  put_by_hand(circuit, copy.verification);
  return copy;
}

}  // namespace benchproof
