#pragma once

#include <vector>

#include "core/check/rest/check.h"

namespace benchproof {

/// No wire or contact of a small circuit carries more: beyond it a solution only says
/// that something is shorted. Ampere. Common practice, no source.
inline constexpr double kShortAmps = 1000.0;

/// Where a part carries more than kShortAmps: one fault in place of everything found
/// about such parts, named for the one that ought to be looked at (a junction or a
/// switch before a supply). Findings about parts and nets beside them follow from it.
void tell_short(const CheckInput& input, std::vector<Finding>& findings);

}  // namespace benchproof
