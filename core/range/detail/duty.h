#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"

namespace benchproof {

/// What must go on working while a voltage moves: indices of parts.
struct Duty {
  std::vector<int> leds;
  std::vector<int> loads;
  std::vector<int> regulators;
  std::vector<int> controllers;
};

/// What works, of all parts.
[[nodiscard]] Duty working_parts(const CheckInput& input);

/// A fault for each part that ought to work and does not, where its own check takes
/// it for one that is switched off.
[[nodiscard]] std::vector<Finding> idle_findings(const CheckInput& input,
                                                 const Duty& duty);

}  // namespace benchproof
