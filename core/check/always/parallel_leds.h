#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// A phase, and the transistors that are on in it: hardly anything lies across them.
struct ConductingPhase {
  const State* state = nullptr;
  std::vector<int> on;
};

/// LEDs that share a resistor in any of the phases ("led-shared-resistor").
[[nodiscard]] std::vector<Finding> check_shared_leds(
    const Circuit& circuit, const std::vector<ConductingPhase>& phases);

}  // namespace benchproof
