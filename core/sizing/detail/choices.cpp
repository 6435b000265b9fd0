#include "core/sizing/detail/choices.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "core/base/preferred.h"
#include "core/sizing/detail/exact_at_rest.h"
#include "core/sizing/detail/pairs.h"
#include "core/sizing/detail/run_search.h"

namespace benchproof {
namespace {

/// The values of the series on both sides of the exact one, within the bounds.
std::vector<double> neighbours(const SizeRequest& request, double exact) {
  if (!request.series) return {exact};
  const SizedKey& key = request.keys.front();
  std::vector<double> values;
  const double below = preferred_at_most(*request.series, exact);
  const double above = preferred_at_least(*request.series, exact);
  for (const double value : {below, above}) {
    const bool is_there = !values.empty() && values.back() == value;
    if (value >= key.least && value <= key.most && !is_there) values.push_back(value);
  }
  return values;
}

/// Whether every value tried is on the right side of a bound.
bool meets_everywhere(const Sizing& sizing, const Goal& goal) {
  if (goal.relation == Goal::Relation::equal) return false;
  if (sizing.misses && !keeps_to(goal, HUGE_VAL)) return false;
  if (!std::isfinite(sizing.reach_least)) return sizing.misses;
  return keeps_to(goal, sizing.reach_least) && keeps_to(goal, sizing.reach_most);
}

/// Values to judge where all meet the goal: the outermost ones and the present one.
std::vector<double> samples(const SizeRequest& request) {
  const SizedKey& key = request.keys.front();
  std::vector<double> values{key.least, key.most};
  if (request.series && key.least > 0.0)
    values = {preferred_at_least(*request.series, key.least),
              preferred_at_most(*request.series, key.most)};
  if (key.present && *key.present >= key.least && *key.present <= key.most)
    values.push_back(*key.present);
  std::erase_if(values, [&key](double v) { return v < key.least || v > key.most; });
  std::sort(values.begin(), values.end());
  values.erase(std::unique(values.begin(), values.end()), values.end());
  return values;
}

/// The present values, where they lie between the bounds of the search and keep to the
/// bound of the goal; nothing for a goal that is an equation.
std::optional<std::vector<double>> present_values(const SizeRequest& request,
                                                  const Sizing& sizing) {
  if (request.goal.relation == Goal::Relation::equal || std::isnan(sizing.present) ||
      !keeps_to(request.goal, sizing.present))
    return std::nullopt;
  std::vector<double> values;
  for (const SizedKey& key : request.keys) {
    if (!key.present || *key.present < key.least || *key.present > key.most)
      return std::nullopt;
    values.push_back(*key.present);
  }
  if (request.is_same && values != request.each(values.front())) return std::nullopt;
  return values;
}

/// The values that come nearest to the goal, or where all meet it some of them.
std::vector<std::vector<double>> nearest_values(Figures& figures,
                                                const SizeRequest& request,
                                                Sizing& sizing) {
  if (request.is_pair()) return nearest_pairs(figures, request, sizing);
  if (request.state < 0)
    find_exact_in_run(figures, request, sizing);
  else
    find_exact_at_rest(figures, request, sizing);
  std::vector<double> values;
  if (sizing.exact) {
    values = neighbours(request, *sizing.exact);
    sizing.has_no_choice = values.empty();
  } else if (meets_everywhere(sizing, request.goal)) {
    values = samples(request);
  }
  std::vector<std::vector<double>> choices;
  choices.reserve(values.size());
  for (const double value : values) choices.push_back(request.each(value));
  return choices;
}

/// How far a value lies from the present one: as a logarithm where both are above 0.
double away(const SizedKey& key, double value) {
  if (!key.present) return 0.0;
  return *key.present > 0.0 && value > 0.0 ? std::abs(std::log(value / *key.present))
                                           : std::abs(value - *key.present);
}

}  // namespace

double away(const SizeRequest& request, const std::vector<double>& values) {
  double sum = 0.0;
  for (std::size_t k = 0; k < values.size(); ++k)
    sum += away(request.keys[k], values[k]);
  return sum;
}

Choices find_choices(Figures& figures, const SizeRequest& request, Sizing& sizing) {
  Choices choices;
  std::vector<std::vector<double>>& values = choices.values;
  values = nearest_values(figures, request, sizing);
  choices.present = present_values(request, sizing);
  if (!choices.present || values.empty()) return choices;
  if (std::find(values.begin(), values.end(), *choices.present) != values.end())
    return choices;
  const auto shown = static_cast<std::ptrdiff_t>(std::min(values.size(), kPairsShown));
  const auto place = request.is_pair() ? values.begin() + shown
                                       : std::lower_bound(values.begin(), values.end(),
                                                          *choices.present);
  values.insert(place, *choices.present);
  return choices;
}

}  // namespace benchproof
