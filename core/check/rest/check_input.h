#pragma once

#include <cstddef>
#include <vector>

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
  /// Of each part whether its own ratings and checks are asked for. Null: of all.
  const std::vector<bool>* asked = nullptr;
};

[[nodiscard]] inline bool is_asked(const CheckInput& input, std::size_t part) {
  return input.asked == nullptr || (*input.asked)[part];
}

}  // namespace benchproof
