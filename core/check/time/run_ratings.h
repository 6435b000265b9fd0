#pragma once

#include <vector>

#include "core/check/time/run_checks.h"

namespace benchproof {

/// Holds a part's ratings during a run: those for ever against what is borne for a
/// while (see Endurance), absolute ones at every moment. Adds what it finds.
void check_run_ratings(const RunInput& input, int index,
                       std::vector<Finding>& findings);

}  // namespace benchproof
