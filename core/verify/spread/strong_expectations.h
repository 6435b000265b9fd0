#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// Outputs are solved as weak as their sheet allows, for then a lamp is dimmest; most
/// copies are stronger. A caution ("expectation-pins") for each expectation of a state
/// that holds so, and not with pins as strong as any is (see with_strong_pins); those
/// that were written as a nominal value are left out, for they mean a weak pin. What is
/// told rests on both witnesses. `result` is that of a state that was agreed on.
[[nodiscard]] std::vector<Finding> check_strong_expectations(const Circuit& circuit,
                                                             const State& state,
                                                             const StateResult& result,
                                                             const Solve& engine);

}  // namespace benchproof
