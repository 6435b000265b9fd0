#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/observation.h"

namespace benchproof {

/// What changes between steady states and ought not to, or does not and ought to: the
/// supply of a chip behind a resistor that moves ("rail-moves"), and a switch or sensor
/// whose change nothing shows ("control-idle"). `seen` as in check_over_states.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_over_controls(
    const Circuit& circuit, const std::vector<std::vector<const Observation*>>& seen);

}  // namespace benchproof
