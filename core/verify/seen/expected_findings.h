#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// Whether an expected finding may be in that place: a state, or a run (`run` its
/// index, else -1).
[[nodiscard]] bool is_expected_in(const ExpectedFinding& expected,
                                  std::string_view state, int run);

/// Whether a finding is the one that is expected, wherever it is.
[[nodiscard]] bool is_meant(const ExpectedFinding& expected, const Finding& finding);

/// Whether the description expects a finding of a state, or of a run (`run` its index,
/// else -1).
[[nodiscard]] bool is_expected(const Circuit& circuit, std::string_view state, int run,
                               const Finding& finding);

/// Marks the findings that the description expects.
void mark_expected(const Circuit& circuit, std::string_view state, int run,
                   std::vector<Finding>& findings);

/// "'led-bare' of 'quay1' in state 'night'".
[[nodiscard]] std::string name_of(const Circuit& circuit,
                                  const ExpectedFinding& expected);

}  // namespace benchproof
