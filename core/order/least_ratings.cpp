#include "core/order/least_ratings.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

/// The highest value over the phases, at whichever pin; the phase is not named where
/// they hardly differ.
Peak highest_load(const CheckInput& input, int part, const Rating& rating) {
  constexpr double kMoves = 0.01;  // Share of the value.
  const std::vector<int> pins = pins_of(rating.measure, input.parts[part]);
  const auto value = [&](const Observation& seen) {
    double most = pins.empty() ? 0.0 : -std::numeric_limits<double>::infinity();
    for (const int pin : pins)
      most = std::max(most, value_in(input, seen, part, rating, pin));
    return most;
  };
  Peak peak = highest(input, value);
  const double least =
      -highest(input, [&](const Observation& seen) { return -value(seen); }).value;
  if (peak.value - least <= kMoves * std::abs(peak.value)) peak.phase.clear();
  return peak;
}

Peak load_of(const CheckInput& input, int part, const Rating& rating) {
  const Over over =
      rating.bought.over.value_or(over_of(rating.measure, input.parts[part]));
  if (over == Over::highest) return highest_load(input, part, rating);
  return measured(input, part, rating, rating.measure.pin, over).value_or(Peak{});
}

double share_of(const Rating& rating, const Part& part, const Derating& derating) {
  const double usual = caution_share(rating, part);
  switch (rating.bought.derated) {
    case Derated::power:
      return derating.power.value_or(usual);
    case Derated::voltage:
      return derating.voltage.value_or(usual);
    case Derated::no:
      break;
  }
  return usual;
}

LeastRating rate(const CheckInput& input, int index, const Rating& rating,
                 const Derating& derating) {
  const Part& part = input.parts[index];
  const Bought& bought = rating.bought;
  const Peak load = load_of(input, index, rating);
  LeastRating r;
  r.key = rating.key;
  r.quantity = bought.quantity;
  r.check = rating.rest.check;
  r.unit = unit_of(rating);
  r.load = std::max(load.value, 0.0);
  r.part = index;
  r.state = input.state.name;
  r.phase = load.phase;
  r.share = share_of(rating, part, derating);
  // The surroundings leave a part of a resistor's rating.
  const double usable = r.share * power_share_at(part, input.circuit.ambient);
  if (usable > 0.0) {
    r.least = r.load / usable;
  } else {
    r.least = r.load > 0.0 ? std::numeric_limits<double>::infinity() : 0.0;
  }
  const bool is_polarised =
      !bought.polarised_grades.empty() && flag(part, "polarised", false);
  const auto grades = is_polarised ? bought.polarised_grades : bought.grades;
  r.is_graded = !grades.empty();
  const auto passes = [&](double rated) { return !exceeds(r.load, rated * usable); };
  const auto sold = std::find_if(grades.begin(), grades.end(), passes);
  if (sold != grades.end()) r.sold = *sold;
  r.has = figure(part, rating.key);
  r.is_enough = r.has && passes(r.has->value);
  return r;
}

}  // namespace

std::vector<LeastRating> least_ratings(const CheckInput& input, int part,
                                       const Derating& derating) {
  const Part& p = input.parts[part];
  std::vector<const Rating*> asked;
  for (const Rating* rating : ratings_of(p.kind)) {
    const Bought& bought = rating->bought;
    const bool is_other =
        !bought.where_not.empty() && figure(p, bought.where_not).has_value();
    if (!bought.quantity.empty() && !is_other) asked.push_back(rating);
  }
  std::stable_partition(asked.begin(), asked.end(),
                        [](const Rating* rating) { return rating->bought.is_first; });
  std::vector<LeastRating> list;
  for (const Rating* rating : asked)
    list.push_back(rate(input, part, *rating, derating));
  return list;
}

}  // namespace benchproof
