#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/usual.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
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
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

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

std::optional<Finding> check_power(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto limit = resistor_rating(part, input.circuit.ambient);
  if (!limit) return std::nullopt;
  const auto share = figure(part, "usual_share");
  const double usual = share ? share->value : 1.0;
  const Peak load = resistor_watts(input, index);
  keep_margin(input, index, {id("resistor-power"), "power", "power", "power rating"},
              load.value, *limit);
  if (!exceeds(load.value, limit->value * usual)) return std::nullopt;
  const bool is_over = exceeds(load.value, limit->value);
  // Near its end a trimmer's track is heated in one spot, by less than this compares.
  constexpr double kTrackTimes = 4.0;  // Twice the current. Common practice, no source.
  const bool is_fault = exceeds(
      load.value, (part.kind == KindId::trimmer ? kTrackTimes : 1.0) * limit->value);
  Finding finding =
      about_part(input, index, is_fault ? Severity::fault : Severity::caution,
                 id("resistor-power"));
  set_limit(finding, "power", load.value, *limit);
  finding.phase = load.phase;
  if (is_over && part.kind == KindId::trimmer) {
    // What counts is the current: the heat is that of the part that carries it.
    const double ohms = figure(part, "value")->value;
    const auto [is, may] = two_texts(std::sqrt(load.value / ohms),
                                     std::sqrt(limit->value / ohms), Unit::ampere);
    finding.message = fmt::format(
        "'{}' carries {} in its track, which bears {} at most ({} over all of it); "
        "limit the current with a resistor in series",
        part.name, is, may, short_text(limit->value, Unit::watt));
    return finding;
  }
  if (is_over) {
    finding.message = past_text(load.value, *limit, "rating", part.name) +
                      assumption(part) + advice(load.value, usual);
    return finding;
  }
  Figure lower = *limit;
  lower.value *= usual;
  lower.mark = share->mark;
  lower.source = share->source;
  lower.condition = fmt::format("{} of {}", short_text(usual, Unit::fraction),
                                short_text(limit->value, Unit::watt));
  set_limit(finding, "power", load.value, lower);
  finding.message = fmt::format(
      "'{}' turns {} into heat, {} of its {} rating{}; it lives longer below {}{}",
      part.name, short_text(load.value, Unit::watt),
      short_text(load.value / limit->value, Unit::fraction),
      short_text(limit->value, Unit::watt), assumption(part),
      short_text(usual, Unit::fraction), advice(load.value, usual));
  return finding;
}

}  // namespace

std::vector<Finding> check_resistor(const CheckInput& input) {
  std::vector<Finding> findings;
  for (const KindId kind : {KindId::resistor, KindId::trimmer, KindId::light_resistor,
                            KindId::heat_resistor}) {
    for_parts(input, kind, [&](int index, const Part&) {
      add(findings, check_power(input, index));
      const Peak volts = highest(input, [&](const Observation& seen) {
        return std::abs(volts_between(input, seen, index, 0, 1));
      });
      add(findings, over_rating(input, index,
                                {id("resistor-voltage"), "voltage", "working_voltage",
                                 "working voltage"},
                                volts, "use two in series"));
    });
  }
  return findings;
}

std::span<const Explanation> explain_resistor() { return kExplained; }

}  // namespace benchproof
