#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/network/witnesses.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// Whether a finding says that a rating is passed, and not that something does not
/// work: at an end of its travel a dimmer may well make a lamp dark.
[[nodiscard]] bool is_overload(const Finding& finding);

/// The overloads that one witness finds of a posed state and that are not among `now`,
/// what was found of the state before it was changed.
[[nodiscard]] std::vector<Finding> overloads_brought(const PosedState& posed,
                                                     const std::vector<Finding>& now,
                                                     const Solve& witness);

}  // namespace benchproof
