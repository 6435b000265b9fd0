#pragma once

#include <vector>

#include "core/check/rating/ratings.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// Adds what is to be said of a diode's or LED's forward current in a run, one finding
/// at most: what goes beyond its lasting rating, then beyond its surge or pulse rating
/// (`brief`), then what comes near to either.
void check_forward(const RunInput& input, int part, const Rating& lasting,
                   const Rating& brief, std::vector<Finding>& findings);

}  // namespace benchproof
