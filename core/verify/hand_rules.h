#pragma once

#include "core/circuit/circuit.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// Puts the hand rules that fit into each state on which the witnesses agree; with PWM
/// they are of the phase in which every output is on. For those who tell them: most of
/// what it makes is words.
void put_by_hand(const Circuit& circuit, Verification& verification);

}  // namespace benchproof
