#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/catalogue/fit.h"
#include "core/check/limits.h"
#include "core/check/topology.h"

namespace benchproof {
namespace {

/// The smallest value of the E24 series (IEC 60063) that is at least `ohms`.
double e24_at_least(double ohms) {
  constexpr double kSteps[] = {1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2,
                               2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1,
                               5.6, 6.2, 6.8, 7.5, 8.2, 9.1, 10.0};
  const double decade = std::pow(10.0, std::floor(std::log10(ohms)));
  const auto* step = std::find_if(std::begin(kSteps), std::end(kSteps), [&](double s) {
    return s * decade >= ohms * (1 - 1e-9);
  });
  return *step * decade;
}

/// The forward voltage of an LED at a current, or nothing.
std::optional<double> forward_volts(const Part& led, double amps, double celsius) {
  if (const auto drop = figure(led, "drop")) {
    const auto slope = figure(led, "slope");
    return drop->value + (slope ? slope->value * amps : 0.0);
  }
  const auto model = diode_model(led);
  if (!model) return std::nullopt;
  return voltage_at(*model, amps, celsius);
}

/// "raise 'quay_r' to at least 390 ohm", where the LED stands in series with a resistor
/// between held nets and such a value lies above the present one; else empty.
std::string resistor_advice(const CheckInput& input, int index,
                            const std::string& phase_name, double amps) {
  const auto phase =
      std::find_if(input.phases.begin(), input.phases.end(),
                   [&](const SeenPhase& p) { return p.phase.name == phase_name; });
  if (phase == input.phases.end()) return {};
  const auto chain = series_led(input.circuit, input.parts, phase->phase.state, index);
  const auto drop = forward_volts(input.parts[index], amps, input.circuit.ambient);
  if (!chain || !drop) return {};
  const Part& resistor = input.parts[chain->resistor];
  const int from =
      chain->output.pin >= 0 && !is_held(input.circuit, input.parts, chain->from)
          ? chain->output_rail
          : chain->from;
  const int to =
      chain->output.pin >= 0 && !is_held(input.circuit, input.parts, chain->to)
          ? chain->output_rail
          : chain->to;
  const double volts = phase->seen.net_volts[from] - phase->seen.net_volts[to];
  const double needed = (volts - *drop) / amps - chain->output_ohms;
  if (!(needed > figure(resistor, "value")->value)) return {};
  return fmt::format("raise '{}' to at least {}", resistor.name,
                     short_text(e24_at_least(needed), Unit::ohm));
}

/// What to do about too much current: as exact as the circuit allows.
std::string current_advice(const CheckInput& input, int index, const std::string& phase,
                           double amps) {
  const std::string exact = resistor_advice(input, index, phase, amps);
  if (!exact.empty()) return exact;
  for (const int net : input.parts[index].nets) {
    if (net < 0) continue;
    const auto pins = resting_pins(input.circuit, net);
    if (pins.size() != 2) continue;
    const int other = pins[0].part == index ? pins[1].part : pins[0].part;
    if (input.parts[other].kind == KindId::resistor)
      return fmt::format("raise '{}'", input.parts[other].name);
  }
  return "put a resistor in series with it";
}

std::string pulse_words(const Part& led) {
  const auto time = figure(led, "pulse_time");
  const auto duty = figure(led, "pulse_duty");
  if (!time || !duty) return "pulse rating";
  return fmt::format("pulse rating ({} of the time, {} long)",
                     short_text(duty->value, Unit::fraction),
                     short_text(time->value, Unit::second));
}

/// The average against the continuous rating; each phase against the pulse rating, or
/// where none is known against the continuous one.
std::optional<Finding> check_current(const CheckInput& input, int index) {
  const Part& led = input.parts[index];
  const auto lasting = figure(led, "current");
  if (!lasting) return std::nullopt;
  const Peak mean{pin_amps(input.average, index, 0), ""};
  const Peak peak =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  if (!exceeds(peak.value, lasting->value)) return std::nullopt;
  const std::string advice = current_advice(input, index, peak.phase, lasting->value);
  const Rating continuous{"led-current", "current", "current", "continuous rating"};
  if (exceeds(mean.value, lasting->value))
    return over_rating(input, index, continuous, mean, advice);
  const auto pulse = figure(led, "pulse");
  if (!pulse) return over_rating(input, index, continuous, peak, advice);
  if (exceeds(peak.value, pulse->value)) {
    return over_rating(input, index,
                       {"led-current", "current", "pulse", pulse_words(led)}, peak,
                       advice);
  }
  auto finding = over_rating(input, index, continuous, peak);
  finding->severity = Severity::caution;
  finding->message = fmt::format(
      "while on, {}; its average of {} is within it, but an output that sticks is not: "
      "{}",
      past_text(peak.value, *lasting, "continuous rating", led.name),
      short_text(mean.value, Unit::ampere), advice);
  return finding;
}

}  // namespace

std::vector<Finding> check_led(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::led, [&](int index, const Part&) {
    add(findings, check_current(input, index));
    const Peak reverse = highest(input, [&](const Observation& seen) {
      return volts_between(input, seen, index, 1, 0);
    });
    add(findings,
        over_rating(input, index,
                    {"led-reverse", "voltage", "reverse", "reverse voltage rating"},
                    reverse, "put a diode in parallel the other way round"));
    add(findings,
        over_rating(input, index, {"led-power", "power", "power", "power rating"},
                    heating_watts(input, index), "lower its current"));
    add(findings, over_junction(input, index, "led-junction", "lower its current"));
  });
  return findings;
}

}  // namespace benchproof
