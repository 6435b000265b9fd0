#include "core/check/rest/limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <bitset>
#include <cassert>
#include <cmath>

#include "core/catalogue/pins.h"
#include "core/check/rest/joints.h"

namespace benchproof {
namespace {

Peak peak_of(const CheckInput& input, const PhasesValue& value) {
  if (value.phase < 0) return {value.value, ""};
  return {value.value, input.phases[value.phase].phase.name};
}

}  // namespace

Peak highest(const CheckInput& input,
             const std::function<double(const Observation&)>& value) {
  Peak peak;
  bool is_first = true;
  for (const SeenPhase& phase : input.phases) {
    const double here = value(phase.seen);
    if (!is_first && !(here > peak.value)) continue;
    peak = {here, phase.phase.name};
    is_first = false;
  }
  return peak;
}

double pin_amps(const Observation& seen, int part, int pin) {
  return seen.pin_amps[part][pin];
}

double volts_between(const CheckInput& input, const Observation& seen, int part,
                     int pin, int other) {
  const int net = input.parts[part].nets[pin];
  const int to = input.parts[part].nets[other];
  if (net < 0 || to < 0) return 0.0;
  return seen.net_volts[net] - seen.net_volts[to];
}

Peak heating_watts(const CheckInput& input, int part) {
  return peak_of(input, heating(input, part));
}

std::optional<Junction> junction(const CheckInput& input, int part, double watts) {
  const auto path = thermal_path(input.parts[part]);
  if (!path) return std::nullopt;
  return Junction{input.circuit.ambient + watts * path->resistance.value, watts,
                  path->resistance, path->on_heatsink};
}

std::optional<double> heatsink_needed(const CheckInput& input, int part, double watts) {
  const auto limit = figure(input.parts[part], "junction_max");
  const auto to_case = figure(input.parts[part], "thermal_resistance_case");
  if (!limit || !to_case || !(watts > 0.0)) return std::nullopt;
  return (limit->value - input.circuit.ambient) / watts - to_case->value;
}

Finding about_part(const CheckInput& input, int part, Severity severity,
                   CheckId check) {
  return about(input.parts[part], severity, check);
}

std::optional<Peak> measured(const CheckInput& input, int part, const Rating& rating,
                             int pin) {
  return measured(input, part, rating, pin, over_of(rating.measure, input.parts[part]));
}

std::optional<Peak> measured(const CheckInput& input, int part, const Rating& rating,
                             int pin, Over over) {
  const auto value = RatingReader(input, part, rating, pin, over).read(input);
  if (!value) return std::nullopt;
  return peak_of(input, *value);
}

std::optional<Standing> standing(const CheckInput& input, int part,
                                 const Rating& rating) {
  return standing(input, part, rating, rating.measure.pin);
}

std::optional<Standing> standing(const CheckInput& input, int part,
                                 const Rating& rating, int pin) {
  const Part& p = input.parts[part];
  const auto limit = limit_of(rating, p, input.circuit.ambient);
  const auto value = limit ? measured(input, part, rating, pin) : std::optional<Peak>();
  if (!value) return std::nullopt;
  Standing standing{*value, *limit, std::nullopt};
  if (rating.bound == Bound::lower) {
    if (exceeds(limit->value, value->value)) standing.severity = Severity::fault;
  } else if (exceeds(value->value, fault_times(rating, p) * limit->value)) {
    standing.severity = Severity::fault;
  } else if (exceeds(value->value, caution_share(rating, p) * limit->value)) {
    standing.severity = Severity::caution;
  }
  return standing;
}

namespace {

/// Whether a part keeps to a rating, so that its standing has no severity.
bool keeps_to(const CheckInput& input, int part, const Rating& rating, int pin) {
  const Part& p = input.parts[part];
  const auto limit = limit_number_of(rating, p, input.circuit.ambient);
  if (!limit) return true;
  const auto value = measured(input, part, rating, pin);
  if (!value) return true;
  if (rating.bound == Bound::lower) return !exceeds(*limit, value->value);
  const double share = std::min(caution_share(rating, p), fault_times(rating, p));
  return !exceeds(value->value, share * *limit);
}

}  // namespace

std::optional<Standing> told_standing(const CheckInput& input, int part,
                                      const Rating& rating) {
  return told_standing(input, part, rating, rating.measure.pin);
}

std::optional<Standing> told_standing(const CheckInput& input, int part,
                                      const Rating& rating, int pin) {
  if (keeps_to(input, part, rating, pin)) return std::nullopt;
  const auto found = standing(input, part, rating, pin);
  return found && found->severity ? found : std::nullopt;
}

Finding about_rating(const CheckInput& input, int part, const Rating& rating,
                     const Standing& standing) {
  Finding finding;
  finding.severity = standing.severity.value_or(Severity::note);
  finding.check = rating.rest.check;
  finding.part = input.parts[part].name;
  finding.span = input.parts[part].span;
  finding.bound = rating.bound;
  finding.phase = standing.value.phase;
  set_limit(finding, rating.quantity, standing.value.value, standing.limit);
  return finding;
}

namespace {

/// What a heat sink has to do for a junction that is too hot: empty where the part
/// takes none, or nothing is known of its case.
std::string heatsink_text(const CheckInput& input, int part, double watts) {
  const auto needed = heatsink_needed(input, part, watts);
  if (!needed) return {};
  // Larger ones than this are sold with fans. Common practice, no source.
  constexpr double kLeastSink = 1.0;
  if (*needed < kLeastSink) return "; no usual heat sink is enough for it";
  return fmt::format(
      "; a heat sink of {} just holds that limit: take one of half of that or less "
      "('heatsink')",
      short_text(std::floor(*needed * 10.0) / 10.0, Unit::kelvin_per_watt, 3));
}

/// Whether a regulator's output is held far below what it is to give: shorted, or drawn
/// down by its load, which no heat sink mends.
bool is_held_down(const CheckInput& input, int part) {
  const Part& p = input.parts[part];
  const auto output =
      p.kind == KindId::regulator ? number_of(p, "output") : std::nullopt;
  if (!output || p.pins[1] == "adjust") return false;
  constexpr double kHeldShare = 0.5;  // Common practice, no source.
  return highest(input, [&](const Observation& seen) {
           return std::abs(volts_between(input, seen, part, kOut, kCommon));
         }).value < kHeldShare * *output;
}

/// What a junction's finding says of where its temperature comes from.
void tell_heat(const CheckInput& input, int part, const Rating& rating,
               const Standing& standing, Finding& finding) {
  const auto hot = junction(input, part, heating_watts(input, part).value);
  finding.mark = Mark::derived;
  finding.source =
      fmt::format("limit: {}; {}: {}", finding.source,
                  short_text(hot->resistance.value, Unit::kelvin_per_watt, 4),
                  source_of(hot->resistance));
  finding.message = fmt::format(
      "{}, from {} over {} at {} around it; {}{}",
      past_text(hot->celsius, standing.limit, rating.rest.words, finding.part),
      short_text(hot->watts, Unit::watt),
      short_text(hot->resistance.value, Unit::kelvin_per_watt, 4),
      short_text(input.circuit.ambient, Unit::celsius), rating.rest.advice,
      is_held_down(input, part)
          ? "; its output is shorted or drawn down: mend that, a heat sink does not"
          : heatsink_text(input, part, hot->watts));
}

}  // namespace

std::optional<Finding> over_rating(const CheckInput& input, int part,
                                   const Rating& rating) {
  const auto found = told_standing(input, part, rating);
  if (!found) return std::nullopt;
  Finding finding = about_rating(input, part, rating, *found);
  if (rating.measure.what == Measured::junction) {
    tell_heat(input, part, rating, *found, finding);
    return finding;
  }
  finding.message =
      past_text(found->value.value, found->limit, rating.rest.words, finding.part);
  if (!rating.rest.advice.empty())
    finding.message += fmt::format("; {}", rating.rest.advice);
  return finding;
}

void tell_ratings(const CheckInput& input, int part, std::vector<Finding>& findings,
                  std::span<const Special> specials) {
  constexpr std::size_t kMostSpecials = 32;  // Of one kind.
  const std::string& name = input.parts[part].name;
  std::bitset<kMostSpecials> run;
  assert(specials.size() <= kMostSpecials);
  for (const Rating* rating : ratings_of(input.parts[part].kind)) {
    const AtRest& rest = rating->rest;
    if (rest.check.empty() || rest.stress == Stress::surface) continue;
    const auto special =
        std::find_if(specials.begin(), specials.end(),
                     [&](const Special& s) { return s.check == rest.check; });
    if (special != specials.end()) {
      const auto which = static_cast<std::size_t>(special - specials.begin());
      if (run.test(which)) continue;
      run.set(which);
      if (special->one != nullptr) append(findings, special->one(input, part, *rating));
      if (special->many != nullptr) special->many(input, part, *rating, findings);
      continue;
    }
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&](const Finding& finding) {
          return finding.part == name && finding.check == rest.unless_told;
        });
    if (!is_told) append(findings, over_rating(input, part, *rating));
  }
}

namespace {

void append_margins(const CheckInput& input, int part, const Rating& rating,
                    std::vector<Margin>& margins) {
  const Measure& measure = rating.measure;
  const auto limit = limit_number_of(rating, input.parts[part], input.circuit.ambient);
  if (!limit) return;
  // A limit that usual excess may pass counts with that excess.
  const double times = std::max(1.0, caution_share(rating, input.parts[part]));
  for (const int pin : pins_of(measure, input.parts[part])) {
    const auto value = measured(input, part, rating, pin);
    if (!value) continue;
    margins.push_back({rating.rest.check, part, measure.pins == Pins::named ? -1 : pin,
                       rating.quantity, rating.rest.words, unit_of(rating),
                       value->value, times * *limit, rating.bound});
  }
}

/// Whether a part is put to a rating at all: not to a reverse voltage that leaks alone
/// share out.
bool is_put_to_it(const CheckInput& input, int part, const Rating& rating) {
  const bool is_reverse =
      input.parts[part].kind == KindId::led && rating.rest.check == "led-reverse";
  return !is_reverse || std::any_of(input.phases.begin(), input.phases.end(),
                                    [&](const SeenPhase& phase) {
                                      return is_voltage_held(input, phase, part);
                                    });
}

}  // namespace

std::vector<Margin> margins_at_rest(const CheckInput& input) {
  std::vector<Margin> margins;
  for (const RatingGroup& group : rating_groups()) {
    for (const KindId kind : group.kinds) {
      for_parts(input, kind, [&](int part, const Part&) {
        for (const Rating& rating : group.ratings) {
          if (!rating.rest.check.empty() && !rating.rest.is_guard &&
              is_put_to_it(input, part, rating))
            append_margins(input, part, rating, margins);
        }
      });
    }
  }
  return margins;
}

}  // namespace benchproof
