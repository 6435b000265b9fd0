#include "cli/commands/judging/proved_board.h"

#include <algorithm>
#include <cstddef>

#include "core/circuit/topology.h"

namespace benchproof {

bool agree_in_all_states(const Verification& judged) {
  return std::all_of(judged.states.begin(), judged.states.end(),
                     [](const StateResult& state) { return state.agrees; });
}

std::vector<double> most_watts(const Circuit& circuit, const Verification& judged) {
  if (!agree_in_all_states(judged)) return {};
  std::vector<double> watts(circuit.parts.size(), 0.0);
  for (const StateResult& state : judged.states)
    for (std::size_t k = 0; k < state.nodal.part_watts.size(); ++k)
      if (!is_source(circuit.parts[k].kind))
        watts[k] = std::max(watts[k], state.nodal.part_watts[k]);
  return watts;
}

}  // namespace benchproof
