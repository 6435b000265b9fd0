#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What an unregulated wall supply stands at without load, in multiples of the voltage
/// on its label: 17 V where 12 V are printed. Common practice, no source.
inline constexpr double kNoLoadTimes = 17.0 / 12.0;

/// The current at which such a supply gives the voltage on its label, where none is
/// told and the circuit draws no more. Ampere. Common practice, no source.
inline constexpr double kUsualSupplyAmps = 1.0;

/// Where the doubted supplies times the phases times the parts are more, none is asked
/// about, and the first has a caution that says so. As many take some ten seconds.
inline constexpr std::size_t kMostDoubtedFigures = 2'000'000;

/// A wall supply that does not say whether it is regulated is taken as regulated. One
/// caution for each where an unregulated one of the same print would bring a fault or a
/// caution which no state as described has: the worst of them, with the index of its
/// state.
///
/// Each state that was agreed on is solved and judged once more for each such supply,
/// by the nodal witness alone; where it has no answer, nothing is told. `states` are
/// the results for the circuit's states, none of their findings left out; what holds
/// over all states is looked at if they are `all`.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_doubted_supplies(
    const Circuit& circuit, const std::vector<StateResult>& states, bool all,
    const Solve& nodal);

}  // namespace benchproof
