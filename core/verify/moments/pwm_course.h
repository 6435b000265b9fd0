#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What PWM does to what takes its time, from the resistance that a probe finds in each
/// phase: for each MOSFET whose gate charges too slowly to follow its PWM a caution or
/// a fault ("gate-slow"); for each capacitor that keeps a voltage far from the mean of
/// the phases, where no run of the description plays that PWM, a caution
/// ("pwm-smoothed"). Each in the first state in which it is so, with its index; what is
/// told rests on both witnesses.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_pwm_course(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

}  // namespace benchproof
