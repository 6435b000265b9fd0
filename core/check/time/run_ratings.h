#pragma once

#include <span>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/rating/ratings.h"
#include "core/check/time/run_checks.h"

namespace benchproof {

/// A rating whose finding in a run says more than the table: told by the function, or,
/// without one, together with another rating.
struct RunSpecial {
  CheckId check;
  void (*tell)(const RunInput&, int part, const Rating&,
               std::vector<Finding>& findings) = nullptr;
};

/// The ratings of a part that are judged in runs, in the order in which they are told.
[[nodiscard]] std::vector<const Rating*> run_ratings_of(const Part& part);

/// Holds a part's ratings during a run, in the table's order: those for ever against
/// what is borne for a while (see Endurance), absolute ones at every moment. Adds what
/// it finds; `specials` are told in their own way, once, of the first rating of an id.
void check_run_ratings(const RunInput& input, int part, std::vector<Finding>& findings,
                       std::span<const RunSpecial> specials);

}  // namespace benchproof
