#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// A fault for each supply or battery whose current cannot come back, whatever the
/// state: its nets are joined to those of ground by junctions of one direction only, or
/// by nothing but leakage. Where there is one, voltages between the two hang on leaks of
/// nanoamperes, and asking a witness about them tells nothing.
[[nodiscard]] std::vector<Finding> check_apart(const Circuit& circuit);

}  // namespace benchproof
