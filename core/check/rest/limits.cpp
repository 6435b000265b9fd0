#include "core/check/rest/limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace benchproof {

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
  const bool is_slow = std::any_of(
      input.state.outputs.begin(), input.state.outputs.end(), [](const auto& output) {
        return output.second.level == OutputSetting::Level::pwm &&
               output.second.hertz < kSlowHertz;
      });
  if (!is_slow) return {input.average.part_watts[part], ""};
  return highest(input, [part](const Observation& o) { return o.part_watts[part]; });
}

std::optional<ThermalPath> thermal_path(const Part& part) {
  const auto sink = figure(part, "heatsink");
  const auto to_case = figure(part, "thermal_resistance_case");
  if (sink && to_case) {
    return ThermalPath{
        {to_case->value + sink->value, Unit::kelvin_per_watt, Mark::derived,
         fmt::format(
             "junction to case {}: {}; the heat sink's {}: {}",
             short_text(to_case->value, Unit::kelvin_per_watt, 4), source_of(*to_case),
             short_text(sink->value, Unit::kelvin_per_watt, 4), source_of(*sink)),
         ""},
        true};
  }
  const auto resistance = figure(part, "thermal_resistance");
  if (!resistance) return std::nullopt;
  return ThermalPath{*resistance, false};
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
  Finding finding;
  finding.severity = severity;
  finding.check = check;
  finding.part = input.parts[part].name;
  finding.span = input.parts[part].span;
  return finding;
}

void keep_margin(const CheckInput& input, int part, const Rating& rating, double value,
                 const Figure& limit, Bound bound, int pin) {
  if (input.margins == nullptr) return;
  const std::string_view check = rating.check;
  input.margins->push_back({check, part, pin, rating.quantity, rating.words, limit.unit,
                            value, limit.value, bound});
}

std::optional<Finding> over_rating(const CheckInput& input, int part,
                                   const Rating& rating, const Peak& value,
                                   std::string_view advice) {
  const auto limit = figure(input.parts[part], rating.key);
  if (limit) keep_margin(input, part, rating, value.value, *limit);
  if (!limit || !exceeds(value.value, limit->value)) return std::nullopt;
  Finding finding = about_part(input, part, Severity::fault, rating.check);
  set_limit(finding, rating.quantity, value.value, *limit);
  finding.phase = value.phase;
  finding.message = past_text(value.value, *limit, rating.words, finding.part);
  if (!advice.empty()) finding.message += fmt::format("; {}", advice);
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

}  // namespace

std::optional<Finding> over_junction(const CheckInput& input, int part, CheckId check,
                                     std::string_view advice) {
  const auto limit = figure(input.parts[part], "junction_max");
  const Peak heat = heating_watts(input, part);
  const auto hot = junction(input, part, heat.value);
  if (limit && hot)
    keep_margin(input, part, {check, "temperature", "junction_max", "junction limit"},
                hot->celsius, *limit);
  if (!limit || !hot || !exceeds(hot->celsius, limit->value)) return std::nullopt;
  Finding finding = about_part(input, part, Severity::fault, check);
  set_limit(finding, "temperature", hot->celsius, *limit);
  finding.mark = Mark::derived;
  finding.source =
      fmt::format("limit: {}; {}: {}", finding.source,
                  short_text(hot->resistance.value, Unit::kelvin_per_watt, 4),
                  source_of(hot->resistance));
  finding.phase = heat.phase;
  finding.message =
      fmt::format("{}, from {} over {} at {} around it; {}{}",
                  past_text(hot->celsius, *limit, "junction limit", finding.part),
                  short_text(hot->watts, Unit::watt),
                  short_text(hot->resistance.value, Unit::kelvin_per_watt, 4),
                  short_text(input.circuit.ambient, Unit::celsius), advice,
                  heatsink_text(input, part, hot->watts));
  return finding;
}

}  // namespace benchproof
