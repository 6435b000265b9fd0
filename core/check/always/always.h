#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

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

}  // namespace benchproof
