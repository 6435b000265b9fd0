#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What parts bear of what flows when the circuit is switched on, where no run of the
/// description judges that: each state that was agreed on is solved once more with each
/// capacitor empty, once with its motors standing still and once with its lamps cold;
/// from there every current goes to where it is at rest with the time constant that the
/// charge tells, and is held against the same ratings as in a run.
///
/// A finding ("switching-on") for each part that bears less, the worst of them, with
/// the index of its state: a fault where a rating is passed by more than a quarter,
/// else a caution; a caution too for what rests on usual figures alone (cold lamps,
/// blocked motors, strong pins). What is told rests on both witnesses.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_first_moment(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

}  // namespace benchproof
