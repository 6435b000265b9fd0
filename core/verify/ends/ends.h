#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// How bright a light-resistor gets, and how hot a heat-resistor: what is left of its
/// resistance. Common practice, no source: a light-resistor has some 200 ohm in the
/// sun, an NTC with a B of 3950 K at 85 C a tenth of what it has at 25 C.
inline constexpr double kBrightOhms = 200.0;
inline constexpr double kHotShare = 0.1;

/// Where the ends times the phases times the parts are more, none is asked about, and a
/// caution says so. As many take some ten seconds.
inline constexpr std::size_t kMostEndFigures = 2'000'000;

/// Where the figures of all pairs of ends are more, only single ones are asked about.
/// As many take about a second.
inline constexpr std::size_t kMostPairFigures = 200'000;

/// What a person turns, wears out or lets shine on it does not stay where a state has
/// it: a trimmer goes from end to end, a battery from fresh to spent, a light-resistor
/// gets into the sun, a heat-resistor hot. Each state that was agreed on is solved and
/// judged once more with each of these at its end and at some places on the way there,
/// and with any two of them together at their ends: by the nodal witness, and by both
/// where it finds something.
///
/// A finding for each such part whose end passes a rating that no state as described
/// passes ("setting-end"), the worst of them; and for each battery with which, half
/// spent, a lamp is dark or a controller stops that is not so with a fresh one
/// ("battery-low"); each with the index of its state. `states` are the results for the
/// circuit's states.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_ends(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal);

/// Whether a circuit has parts that do not stay where a state has them.
[[nodiscard]] bool has_ends(const Circuit& circuit);

/// The worst fault that the ends of each part, alone, bring to one state
/// ("setting-end"), by one witness alone. `state` may have other settings than the
/// circuit's own of that name; `now` is what is found of it as it is.
[[nodiscard]] std::vector<Finding> faults_at_ends(const Circuit& circuit,
                                                  const State& state,
                                                  const std::vector<Finding>& now,
                                                  const Solve& witness);

}  // namespace benchproof
