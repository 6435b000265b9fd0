#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/witnesses.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// Where the switches times the figures are more, none is asked about, and a note says
/// so. As many take about a second.
inline constexpr std::size_t kMostSwitchFigures = 200'000;

/// Switches stay in nobody's hands as a description has them: each state that was
/// agreed on is solved and judged once more with each of its closed switches open (a
/// plug that is pulled), with each of its open ones closed as well, and with all of
/// those that harm nothing alone; by the nodal witness, and by both where it finds
/// something.
///
/// Of each part the worst rating that is passed then and in no state as described
/// ("switched-otherwise"), with the index of its state: a fault where a switch is
/// opened, else a caution. What another state of the description has is left out, and
/// so are what no steady state closes and both throws of a changeover: two switches
/// that share a net, of which every state closes exactly one, or of which none closes
/// both and that both have others that always move with them (a reversing switch of two
/// poles).
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_switches(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

}  // namespace benchproof
