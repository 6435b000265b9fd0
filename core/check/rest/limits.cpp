#include "core/check/rest/limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

constexpr std::string_view kPractice = "common practice, no source";

/// Cuts ".00" and ".50" down to what says something.
std::string without_zeros(const std::string& text) {
  const std::size_t end = std::min(text.find(' '), text.size());
  const std::size_t dot = text.find('.');
  if (dot == std::string::npos || dot > end ||
      text.find('e') < end)  // An exponent's zeros are none of these.
    return text;
  std::size_t last = end;
  while (last > dot + 1 && text[last - 1] == '0') --last;
  if (last == dot + 1) last = dot;
  return text.substr(0, last) + text.substr(end);
}

}  // namespace

bool exceeds(double value, double limit) { return value > limit * (1 + kLimitShare); }

std::string source_of(const Figure& figure) {
  std::string source = figure.source.empty() ? std::string(kPractice) : figure.source;
  if (!figure.condition.empty()) source += " (" + figure.condition + ")";
  return source;
}

Figure practice(double value, Unit unit, std::string_view what) {
  return {value, unit, Mark::practice, std::string(kPractice), std::string(what)};
}

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

void set_limit(Finding& finding, std::string_view quantity, double value,
               const Figure& limit) {
  finding.quantity = quantity;
  finding.unit = limit.unit;
  finding.value = value;
  finding.limit = limit.value;
  finding.source = source_of(limit);
  finding.mark = limit.mark;
}

std::pair<std::string, std::string> two_texts(double value, double limit, Unit unit) {
  constexpr int kMostDigits = 9;
  std::pair<std::string, std::string> texts;
  for (int digits = 3; digits <= kMostDigits; ++digits) {
    texts = {short_text(value, unit, digits), short_text(limit, unit, digits)};
    if (texts.first != texts.second) break;
  }
  return texts;
}

std::string past_text(double value, const Figure& limit, std::string_view rating,
                      std::string_view part) {
  const auto [is, may] = two_texts(value, limit.value, limit.unit);
  return fmt::format("{} exceeds the {} {} of '{}'", is, may, rating, part);
}

std::string short_text(double value, Unit unit, int digits) {
  return without_zeros(format_quantity(value, unit, digits));
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

void add(std::vector<Finding>& findings, std::optional<Finding> finding) {
  if (finding) findings.push_back(std::move(*finding));
}

}  // namespace benchproof
