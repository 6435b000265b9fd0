#include "core/verify/hand_rules.h"

#include <algorithm>

namespace benchproof {

void put_by_hand(const Circuit& circuit, Verification& verification) {
  for (StateResult& state : verification.states) {
    if (!state.agrees) continue;
    const auto phase =
        std::find_if(state.phases.begin(), state.phases.end(),
                     [](const PhaseResult& each) { return each.phase.all_on; });
    if (phase == state.phases.end()) continue;
    state.by_hand = by_hand(HandInput{{circuit, state.parts, phase->phase.state},
                                      phase->engine_seen,
                                      phase->nodal_seen});
  }
}

}  // namespace benchproof
