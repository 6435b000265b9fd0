#include "cli/render/size/size_advice.h"

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

/// Whether the figure is the same, but for rounding, for every value.
bool is_constant(const Sizing& sizing) {
  constexpr double kSame = 1e-9;
  const double most =
      std::max(std::abs(sizing.reach_least), std::abs(sizing.reach_most));
  return sizing.reach_most - sizing.reach_least <= kSame * most && !sizing.misses;
}

/// Why there is no candidate.
SizeOutcome outcome_without_candidates(const SizeRequest& request,
                                       const Sizing& sizing) {
  const bool is_pair = request.is_pair();
  if (!std::isfinite(sizing.reach_least))
    return sizing.misses && !is_pair ? SizeOutcome::never_in_time
                                     : SizeOutcome::no_answer;
  return is_constant(sizing) && !is_pair ? SizeOutcome::constant
                                         : SizeOutcome::out_of_reach;
}

SizeOutcome outcome_of(const SizeRequest& request, const Sizing& sizing) {
  if (sizing.has_no_choice) return SizeOutcome::no_standard_value;
  if (request.goal.relation == Goal::Relation::equal && sizing.jumps)
    return SizeOutcome::jumps_past;
  if (sizing.candidates.empty()) return outcome_without_candidates(request, sizing);
  return sizing.recommended < 0 ? SizeOutcome::none_good : SizeOutcome::recommended;
}

bool is_present(const SizeRequest& request, const SizeChoice& choice) {
  for (std::size_t k = 0; k < choice.values.size(); ++k)
    if (request.keys[k].present != choice.values[k]) return false;
  return true;
}

std::vector<Series> series_of(const SizeRequest& request) {
  std::vector<Series> series;
  for (const SizedKey& key : request.keys)
    if (key.series &&
        std::find(series.begin(), series.end(), *key.series) == series.end())
      series.push_back(*key.series);
  return series;
}

/// A candidate that is preferable but for its verdict: one on the right side of a bound
/// that is nearer to the goal, or one with which more copies work; -1 for none.
int nearer_candidate(const Goal& goal, const Sizing& sizing, const SizeChoice& best) {
  for (std::size_t k = 0; k < sizing.candidates.size(); ++k) {
    const SizeChoice& c = sizing.candidates[k];
    if (best.yield) {
      if (c.yield && yields_more(*c.yield, *best.yield)) return static_cast<int>(k);
      continue;
    }
    const double nearer =
        std::abs(best.nodal - goal.want) - std::abs(c.nodal - goal.want);
    if (c.keeps && nearer > blur(goal)) return static_cast<int>(k);
  }
  return -1;
}

std::optional<double> beyond_bound(const Goal& goal, const SizeChoice& best) {
  for (const double end : {best.least, best.most})
    if (!keeps_to(goal, end)) return end;
  return std::nullopt;
}

}  // namespace

SizeAdvice advise(const SizeRequest& request, const Sizing& sizing) {
  const Goal& goal = request.goal;
  SizeAdvice advice;
  advice.outcome = outcome_of(request, sizing);
  advice.is_sign_suspect = advice.outcome == SizeOutcome::out_of_reach &&
                           goal.want != 0.0 && -goal.want >= sizing.reach_least &&
                           -goal.want <= sizing.reach_most;
  advice.every_value_meets = !sizing.candidates.empty() && !request.is_pair() &&
                             !sizing.exact && !request.yield;
  if (advice.outcome != SizeOutcome::recommended) return advice;

  const SizeChoice& best = sizing.candidates[sizing.recommended];
  advice.series = series_of(request);
  if (best.yield)
    advice.reason = SizeReason::most_copies;
  else if (advice.every_value_meets)
    advice.reason = is_present(request, best) ? SizeReason::as_it_is
                                              : SizeReason::nearest_to_present;
  else if (!advice.series.empty())
    advice.reason = SizeReason::nearest_of_series;
  advice.passed_over = nearer_candidate(goal, sizing, best);
  advice.beyond_bound = beyond_bound(goal, best);
  return advice;
}

std::string_view outcome_word(SizeOutcome outcome) {
  switch (outcome) {
    case SizeOutcome::recommended:
      return "recommended";
    case SizeOutcome::none_good:
      return "none-good";
    case SizeOutcome::no_standard_value:
      return "no-standard-value";
    case SizeOutcome::jumps_past:
      return "jumps-past";
    case SizeOutcome::out_of_reach:
      return "out-of-reach";
    case SizeOutcome::constant:
      return "constant";
    case SizeOutcome::never_in_time:
      return "never-in-time";
    case SizeOutcome::no_answer:
      return "no-answer";
  }
  return {};
}

}  // namespace benchproof
