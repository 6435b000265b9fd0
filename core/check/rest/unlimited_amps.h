#pragma once

#include <string>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"

namespace benchproof {

/// No wire or contact of a small circuit carries more: beyond it a solution only says
/// that something is shorted. Ampere. Common practice, no source.
inline constexpr double kShortAmps = 1000.0;

/// What to say where nothing limits the current in a loop of parts (see
/// unlimited_loop), in a phase if it has a name.
[[nodiscard]] Finding unlimited_finding(const Circuit& circuit,
                                        const std::string& phase,
                                        const std::vector<int>& loop);

/// Where a part carries more than kShortAmps: one fault in place of everything found
/// about such parts, named for the one that ought to be looked at (a junction or a
/// switch before a supply). Findings about parts and nets beside them follow from it.
void tell_short(const CheckInput& input, std::vector<Finding>& findings);

}  // namespace benchproof
