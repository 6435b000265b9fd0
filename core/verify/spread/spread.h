#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// Where the ends times the phases times the parts are more, none is asked about, and a
/// note says so. As many take about a second.
inline constexpr std::size_t kMostSpreadFigures = 200'000;

/// What an ordinary copy of a part brings that differs from what its type usually is:
/// each state that was agreed on is solved once more with each such part alone at each
/// end of what is known of it (see spread_ends), by both witnesses where something is
/// told.
///
/// A finding for each cause, at the part that differs: a rating that is passed then
/// ("spread-rating"), or something that no longer works or no longer goes off
/// ("spread-function"), each with the index of its state. What a state tells of the
/// same victim as it is described is not said again, and states that have a fault are
/// left out.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_spread(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

}  // namespace benchproof
