#pragma once

#include <vector>

#include "core/board/proof/proof.h"
#include "core/circuit/circuit.h"
#include "core/verify/verify.h"

namespace benchproof {

/// Whether the witnesses agree in each state that was judged.
[[nodiscard]] bool agree_in_all_states(const Verification& judged);

/// What each part turns into heat at most, over all states, as the witnesses that agree
/// say; an average over PWM. Watt. Empty where they do not agree in each state.
[[nodiscard]] std::vector<double> most_watts(const Circuit& circuit,
                                             const Verification& judged);

/// Why a board is proved without its heat, where `most_watts` gives nothing.
inline constexpr const char* kWithoutHeat =
    "the circuit could not be solved, see 'verify'";

}  // namespace benchproof
