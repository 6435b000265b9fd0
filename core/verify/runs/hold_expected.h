#pragma once

#include <span>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/circuit/circuit.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// One expected finding held against all that was found.
struct ExpectedFindingResult {
  const ExpectedFinding* expected = nullptr;  ///< In the circuit.
  int count = 0;                              ///< How often it is there.
};

/// Holds the expected findings against those of all states and runs, and adds a fault
/// where one is not there: to the state or run in which it is expected, else to the
/// first that was judged. What is expected where nothing was judged, or anywhere where
/// only some were (`is_whole` false), is passed over unless it is there.
[[nodiscard]] std::vector<ExpectedFindingResult> hold_expected_findings(
    const Circuit& circuit, Verification& verification, std::vector<RunResult>& runs,
    bool is_whole);

[[nodiscard]] std::span<const Explanation> explain_expected_findings();

}  // namespace benchproof
