#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/spread.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// Where an LED of the least forward voltage gets so many times the current, nothing
/// limits it but the LED itself.
inline constexpr double kSpreadTimes = 1.5;

/// What LEDs get whose forward voltage is the least that is published, from supplies
/// and regulators at their most: each state that was agreed on is solved once more so,
/// by both witnesses where something is told. A finding ("led-spread") for each LED
/// whose current is kSpreadTimes as high then, in the state in which that is most: a
/// fault where it passes its rating by more than a quarter, else a caution.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_lamp_spread(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

/// The state with everything that feeds the circuit at its most.
[[nodiscard]] State with_most_supply(const Circuit& circuit, const State& state);

/// The same of one state by one witness alone. `most` is the state with_most_supply,
/// `now` what the state is as it is, and `findings` what is found of that.
[[nodiscard]] std::vector<Finding> lamp_spread_at(const PosedState& most,
                                                  const CheckInput& now,
                                                  const std::vector<Finding>& findings,
                                                  const Solve& witness);

}  // namespace benchproof
