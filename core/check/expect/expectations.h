#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// One expectation held against a state.
struct ExpectationResult {
  const Expectation* expectation = nullptr;  ///< In the circuit.
  double engine = 0.0;  ///< As each witness has it, in the quantity's unit.
  double nodal = 0.0;
  bool holds = false;  ///< For both.
};

/// Holds the expectations that are meant for the state against what both witnesses saw.
/// The two inputs are of the same state and differ in what was seen only.
///
/// A net's voltage is against `to` or ground. A part's voltage is from its first pin to
/// its second. A part's current flows into the pin named, or into its first; that of a
/// supply, battery or source is what it delivers at plus. A temperature is the
/// junction's without heat sink: ambient + P * thermal resistance.
[[nodiscard]] std::vector<ExpectationResult> hold_expectations(const CheckInput& engine,
                                                               const CheckInput& nodal);

/// What an expectation asks for, as seen in a state (see hold_expectations). Not a
/// number where it is not known. In the quantity's unit.
[[nodiscard]] double quantity_of(const CheckInput& input, const Expectation& e);

/// A fault for each expectation that does not hold.
[[nodiscard]] std::vector<Finding> failed_expectations(
    const Circuit& circuit, const std::vector<ExpectationResult>& results);

/// A quantity's word and unit.
struct QuantityWords {
  std::string_view quantity;
  Unit unit;
};
[[nodiscard]] QuantityWords words_of(Quantity quantity);

/// "'rail'", "'rail' to 'tap'", "'chip.vdd'".
[[nodiscard]] std::string subject_of(const Circuit& circuit, const Expectation& e);

/// The fault that an expectation does not hold, without figures and message.
[[nodiscard]] Finding expectation_finding(const Circuit& circuit, const Expectation& e);

}  // namespace benchproof
