#pragma once

#include <deque>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/witnesses.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What becomes of supplies that do not say whether they are regulated: each is asked
/// about (see check_doubted_supplies), or all are left as they are described.
enum class Supplies { doubted, as_described };

/// Solves every steady state (or only those named in `only`; names that no state has
/// are passed over) with both witnesses, and where they agree checks ratings and
/// expectations. A state in which they do not has a verdict, solutions and a reason
/// (see Agreement), but no findings. What holds over all states ("never lights") is
/// looked at when all were solved and agreed on, and told in the state that comes
/// nearest. The engine is asked about all states while what it and the other witness
/// have said is judged, if `side_by_side` does two jobs at once.
[[nodiscard]] Verification verify(const Circuit& circuit, const Solve& engine,
                                  const Solve& nodal,
                                  const std::vector<std::string>& only = {},
                                  Supplies supplies = Supplies::doubted,
                                  const SideBySide& side_by_side = in_turn);

/// Judges states as they are posed, by both witnesses: ratings, function, expectations.
/// What other settings, copies or states would bring is not looked at.
[[nodiscard]] Verification verify_as_posed(const std::deque<PosedState>& posed,
                                           const Solve& engine, const Solve& nodal);

}  // namespace benchproof
