#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutResistor[] = {
    {"resistor-power", "a resistor's heat",
     "P = I^2 R <= 'power', which falls in a straight line from full at "
     "'full_power_to' to none at 'no_power_at'; caution above 'usual_share' of it",
     "the part's figures 'power', 'full_power_to' and 'no_power_at'; 'benchproof parts "
     "TYPE' names their sources and marks; the share of 60 %: common practice, no "
     "source (practice)",
     "above its rating a resistor chars; near it it drifts, burns fingers and browns "
     "the board",
     "use one of a higher power rating, or two that share the heat"},
    {"resistor-voltage", "the voltage across a resistor",
     "highest |V| of any phase <= 'working_voltage'",
     "the part's figure 'working_voltage'; 'benchproof parts TYPE' names its source "
     "and mark",
     "beyond it the film arcs over", "use two in series"},
};

/// "; use 2 W" for what the load needs at the usual share of the rating.
std::string advice(double watts, double share) {
  const auto size = std::find_if(kResistorPowers.begin(), kResistorPowers.end(),
                                 [&](double s) { return s * share >= watts; });
  if (size == kResistorPowers.end()) return "; lower the current through it";
  return fmt::format("; use one of {} or more", short_text(*size, Unit::watt));
}

/// ", assumed without 'power'", where it is.
std::string assumption(const Part& part) {
  const bool is_known = part.settings.contains("power") || part.type != nullptr;
  return is_known ? "" : ", assumed without 'power'";
}

/// What counts of a trimmer is the current: the heat is that of the part of its track
/// that carries it.
std::string track_text(const Part& part, const Standing& found) {
  const double ohms = figure(part, "value")->value;
  const auto [is, may] = two_texts(std::sqrt(found.value.value / ohms),
                                   std::sqrt(found.limit.value / ohms), Unit::ampere);
  return fmt::format(
      "'{}' carries {} in its track, which bears {} at most ({} over all of it); "
      "limit the current with a resistor in series",
      part.name, is, may, short_text(found.limit.value, Unit::watt));
}

/// What lies above the usual share of the rating, and within the rating.
void tell_usual(const Part& part, const Standing& found, double usual,
                Finding& finding) {
  const double watts = found.value.value;
  const double rated = found.limit.value;
  Figure lower = found.limit;
  lower.value *= usual;
  if (const auto share = figure(part, "usual_share")) {
    lower.mark = share->mark;
    lower.source = share->source;
  }
  lower.condition = fmt::format("{} of {}", short_text(usual, Unit::fraction),
                                short_text(rated, Unit::watt));
  set_limit(finding, finding.quantity, watts, lower);
  finding.message = fmt::format(
      "'{}' turns {} into heat, {} of its {} rating{}; it lives longer below {}{}",
      part.name, short_text(watts, Unit::watt),
      short_text(watts / rated, Unit::fraction), short_text(rated, Unit::watt),
      assumption(part), short_text(usual, Unit::fraction), advice(watts, usual));
}

std::optional<Finding> check_power(const CheckInput& input, int index,
                                   const Rating& rating) {
  const Part& part = input.parts[index];
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const double usual = caution_share(rating, part);
  Finding finding = about_rating(input, index, rating, *found);
  if (!exceeds(found->value.value, found->limit.value)) {
    tell_usual(part, *found, usual, finding);
  } else if (rating.measure.what == Measured::track_watts) {
    finding.message = track_text(part, *found);
  } else {
    finding.message = past_text(found->value.value, found->limit, "rating", part.name) +
                      assumption(part) + advice(found->value.value, usual);
  }
  return finding;
}

constexpr Special kResistorSpecials[] = {
    {CheckId(kAboutResistor, "resistor-power"), check_power}};

}  // namespace

std::vector<Finding> check_resistor(const CheckInput& input) {
  std::vector<Finding> findings;
  for (const KindId kind : {KindId::resistor, KindId::trimmer, KindId::light_resistor,
                            KindId::heat_resistor}) {
    for_parts(input, kind, [&](int index, const Part&) {
      tell_ratings(input, index, findings, kResistorSpecials);
    });
  }
  return findings;
}

std::span<const Explanation> explain_resistor() { return kAboutResistor; }

}  // namespace benchproof
