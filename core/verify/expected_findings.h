#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

struct Verification;
struct RunResult;

/// One expected finding held against all that was found.
struct ExpectedFindingResult {
  const ExpectedFinding* expected = nullptr;  ///< In the circuit.
  int count = 0;                              ///< How often it is there.
};

/// Whether the description expects a finding of a state, or of a run (`run` its index,
/// else -1).
[[nodiscard]] bool is_expected(const Circuit& circuit, std::string_view state, int run,
                               const Finding& finding);

/// Marks the findings that the description expects.
void mark_expected(const Circuit& circuit, std::string_view state, int run,
                   std::vector<Finding>& findings);

/// Holds the expected findings against those of all states and runs, and adds a fault
/// where one is not there: to the state or run in which it is expected, else to the
/// first that was judged. What is expected where nothing was judged, or anywhere where
/// only some were (`is_whole` false), is passed over unless it is there.
[[nodiscard]] std::vector<ExpectedFindingResult> hold_expected_findings(
    const Circuit& circuit, Verification& verification, std::vector<RunResult>& runs,
    bool is_whole);

/// "'led-bare' of 'quay1' in state 'night'".
[[nodiscard]] std::string name_of(const Circuit& circuit,
                                  const ExpectedFinding& expected);

[[nodiscard]] std::span<const Explanation> explain_expected_findings();

}  // namespace benchproof
