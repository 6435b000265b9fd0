#pragma once

#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/rating/ratings.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// The finding that is told here.
inline constexpr Explanation kInrush = {
    "run-inrush",
    "what a supply gives for a while",
    "the highest current out of plus against 'current'. A regulated supply holds its "
    "voltage up to 1.3 times that and gives no more (limit = \"none\" for one that "
    "does): a note where it is at its limit for up to 0.1 s and comes up, else a "
    "caution, a fault where the run ends with it below 0.9 of its voltage after a "
    "second at its limit. Above its label and below its limit, and of an unregulated "
    "one: a note up to 1 s, else a caution. Of a battery a caution",
    "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark; "
    "the 1.3, 0.1 s, 0.9 and 1 s: common practice, no source (practice)",
    "an empty capacitor takes what it is given: the supply's voltage sags and its rail "
    "comes up late; supplies that switch off at an overload and try again may never "
    "come up",
    "less capacitance, a resistor in series, or a larger supply"};

/// Adds what is to be said of a supply or battery that is asked for more than its
/// current in a run: how long it stays at its limit, how far its voltage sags and
/// whether it comes up; of one without a limit how much it gives.
void check_delivery(const RunInput& input, int part, const Rating& rating,
                    std::vector<Finding>& findings);

}  // namespace benchproof
