#pragma once

#include <cstddef>
#include <utility>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What leaks of an ordinary size do where little current flows: an electrolytic that
/// is filled through much resistance, an input that measures the voltage of a source of
/// much resistance, or one above its supply. One finding for each part or pin, with the
/// index of the state in which it is worst.
///
/// The leak is put across the net in each state that was agreed on, and the nodal
/// witness solves again; where it has no answer, nothing is told.
[[nodiscard]] std::vector<std::pair<std::size_t, Finding>> check_leaks(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& nodal);

}  // namespace benchproof
