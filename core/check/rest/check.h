#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/observation.h"

namespace benchproof {

/// One phase of a state, as a check sees it.
struct SeenPhase {
  const Phase& phase;
  const Observation& seen;
  /// With every output as strong as any pin is (see with_strong_pins). Null where no
  /// output drives anything, or where it is not known.
  const Observation* strong = nullptr;
};

/// What every check is given: one steady state that was solved and agreed on.
struct CheckInput {
  const Circuit& circuit;
  const State& state;
  const std::vector<Part>& parts;  ///< With the state's settings laid over them.
  std::vector<SeenPhase> phases;   ///< At least one; shares add up to 1.
  const Observation& average;      ///< Share-weighted over the phases.
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

/// Runs every check, puts `others` after their findings, says which findings follow
/// from which, and sorts them.
[[nodiscard]] std::vector<Finding> run_checks(const CheckInput& input,
                                              std::vector<Finding> others = {});

}  // namespace benchproof
