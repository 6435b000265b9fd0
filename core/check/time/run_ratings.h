#pragma once

#include <functional>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/rating/ratings.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// A rating's finding in a run that says more than the table: adds what is to be told.
struct RunSpecial {
  CheckId check;
  std::function<void(const Rating&)> tell;  ///< Given the first rating of that id.
};

/// Holds a part's ratings during a run, in the table's order: those for ever against
/// what is borne for a while (see Endurance), absolute ones at every moment. Adds what
/// it finds; `specials` are told in their own way.
void check_run_ratings(const RunInput& input, int part, std::vector<Finding>& findings,
                       std::vector<RunSpecial> specials = {});

}  // namespace benchproof
