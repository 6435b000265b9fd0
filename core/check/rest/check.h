#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/lower.h"

namespace benchproof {

/// One phase of a state, as a check sees it.
struct SeenPhase {
  const Phase& phase;
  const Observation& seen;
  /// With every output as strong as any pin is (see with_strong_pins). Null where no
  /// output drives anything, or where it is not known.
  const Observation* strong = nullptr;
};

/// How near a value came to its limit, whether past it or not.
struct Margin {
  std::string_view check;     ///< Id of the check.
  int part = -1;              ///< Index of the part.
  int pin = -1;               ///< Of the part, where the limit is a pin's; else -1.
  std::string_view quantity;  ///< "current" ...
  std::string_view limit_of;  ///< Which limit of the check: "continuous rating" ...
  Unit unit = Unit::none;
  double value = 0.0;  ///< SI (degrees Celsius for a temperature).
  double limit = 0.0;
  Bound bound = Bound::upper;
};

/// The share of the limit that is left, as that of a finding (see margin there).
[[nodiscard]] std::optional<double> margin(const Margin& margin);

/// What every check is given: one steady state that was solved and agreed on.
struct CheckInput {
  const Circuit& circuit;
  const State& state;
  const std::vector<Part>& parts;  ///< With the state's settings laid over them.
  std::vector<SeenPhase> phases;   ///< At least one; shares add up to 1.
  const Observation& average;      ///< Share-weighted over the phases.
  /// Where checks put how near values come to limits, if anyone wants to know.
  std::vector<Margin>* margins = nullptr;
};

/// A group of closely related checks: usually those of one kind of part.
struct Check {
  std::string_view name;
  std::string_view about;  ///< One line for people.
  std::vector<Finding> (*run)(const CheckInput&);
  /// What its findings mean, one row for each id that it can give them.
  std::span<const Explanation> (*explained)();
};

/// All checks, in the order in which their findings are told.
[[nodiscard]] std::span<const Check> checks();

/// A group of checks of what holds whatever the state: how the parts are joined, and
/// what they are.
struct CircuitCheck {
  std::string_view name;
  std::string_view about;  ///< One line for people.
  std::vector<Finding> (*run)(const Circuit&);
  std::span<const Explanation> (*explained)();
};

/// All of them, in the order in which their findings are told.
[[nodiscard]] std::span<const CircuitCheck> circuit_checks();

/// Runs every check, puts `others` after their findings, says which findings follow
/// from which, and sorts them.
[[nodiscard]] std::vector<Finding> run_checks(const CheckInput& input,
                                              std::vector<Finding> others = {});

}  // namespace benchproof
