#include "core/check/by_hand.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/limits.h"
#include "core/check/topology.h"

namespace benchproof {
namespace {

std::string text(double value, Unit unit) { return short_text(value, unit, 4); }

double current_into(const Observation& seen, PinRef pin) {
  return seen.pin_amps[pin.part][pin.pin];
}

/// I = (V - VF) / R for an LED in series with a resistor between held nets, VF being
/// the published drop at the test current. An output in the chain adds its resistance.
/// Kuphaldt, Lessons In Electric Circuits vol. III ch. 3, light-emitting diodes.
void led_resistor(const Circuit& circuit, const std::vector<Part>& parts,
                  const State& phase, const Observation& seen, int led,
                  std::vector<HandResult>& results) {
  const auto chain = series_led(circuit, parts, phase, led);
  const auto drop = published_drop(parts[led]);
  if (!chain || !drop) return;
  const bool has_output = chain->output.part >= 0;
  // The output stands at the end that no source holds.
  const bool is_from_output = has_output && !is_held(circuit, parts, chain->from);
  const int from = is_from_output ? chain->output_rail : chain->from;
  const int to = has_output && !is_from_output ? chain->output_rail : chain->to;
  const double volts = seen.net_volts[from] - seen.net_volts[to];
  if (!(volts > drop->value)) return;
  const auto slope = figure(parts[led], "slope");
  if (slope && slope->value > 0.0) return;
  const double ohms = figure(parts[chain->resistor], "value")->value;
  HandResult result;
  result.rule = "led-resistor";
  result.part = parts[led].name;
  result.quantity = "current";
  result.unit = Unit::ampere;
  result.hand = (volts - drop->value) / (ohms + chain->output_ohms);
  result.solved = current_into(seen, {led, 0});
  const std::string over =
      fmt::format("({} - {})", text(volts, Unit::volt), text(drop->value, Unit::volt));
  if (has_output) {
    result.formula = "I = (V - VF) / (R + Rout)";
    result.numbers = fmt::format("{} / ({} + {})", over, text(ohms, Unit::ohm),
                                 text(chain->output_ohms, Unit::ohm));
  } else {
    result.formula = "I = (V - VF) / R";
    result.numbers = fmt::format("{} / {}", over, text(ohms, Unit::ohm));
  }
  result.numbers += fmt::format(" = {}", text(result.hand, Unit::ampere));
  result.source =
      fmt::format("Kuphaldt, Lessons In Electric Circuits vol. III ch. 3; VF: {}",
                  source_of(*drop));
  result.mark = drop->mark == Mark::given ? Mark::verified : drop->mark;
  results.push_back(std::move(result));
}

/// A divider's tap: the net between one resistor from a held net above and one or two
/// to a held net below, and nothing else there that carries current.
struct Divider {
  int upper = -1;
  std::vector<int> lower;
  int high = -1;
  int low = -1;
};

std::optional<Divider> divider_at(const Circuit& circuit,
                                  const std::vector<Part>& parts,
                                  const Observation& seen, int tap) {
  const std::vector<PinRef> pins = resting_pins(circuit, tap);
  if (pins.size() < 2 || pins.size() > 3 || is_held(circuit, parts, tap))
    return std::nullopt;
  Divider divider;
  for (const PinRef pin : pins) {
    const Part& part = parts[pin.part];
    if (part.kind != KindId::resistor) return std::nullopt;
    const int far = other_net(part, tap);
    if (far < 0 || far == tap || !is_held(circuit, parts, far)) return std::nullopt;
    if (seen.net_volts[far] > seen.net_volts[tap]) {
      if (divider.upper >= 0) return std::nullopt;
      divider.upper = pin.part;
      divider.high = far;
    } else {
      if (divider.low >= 0 && divider.low != far) return std::nullopt;
      divider.lower.push_back(pin.part);
      divider.low = far;
    }
  }
  if (divider.upper < 0 || divider.lower.empty()) return std::nullopt;
  return divider;
}

/// V = VS R2 / (R1 + R2), where a load makes R2 the two in parallel. Kuphaldt, Lessons
/// In Electric Circuits vol. I ch. 6, voltage divider circuits.
void loaded_divider(const Circuit& circuit, const std::vector<Part>& parts,
                    const Observation& seen, int tap,
                    std::vector<HandResult>& results) {
  const auto divider = divider_at(circuit, parts, seen, tap);
  if (!divider) return;
  const auto ohms = [&](int part) { return figure(parts[part], "value")->value; };
  const double volts = seen.net_volts[divider->high] - seen.net_volts[divider->low];
  const double upper = ohms(divider->upper);
  double lower = ohms(divider->lower[0]);
  HandResult result;
  result.rule = "divider";
  result.formula = "V = VS R2 / (R1 + R2)";
  std::string joined;
  if (divider->lower.size() == 2) {
    const double load = ohms(divider->lower[1]);
    result.rule = "loaded-divider";
    result.formula = "R = R2 RL / (R2 + RL), V = VS R / (R1 + R)";
    joined =
        fmt::format("{} || {} = {}; ", text(lower, Unit::ohm), text(load, Unit::ohm),
                    text(lower * load / (lower + load), Unit::ohm));
    lower = lower * load / (lower + load);
  }
  result.net = circuit.nets[tap].name;
  result.quantity = "voltage";
  result.unit = Unit::volt;
  result.hand = volts * lower / (upper + lower);
  result.solved = seen.net_volts[tap] - seen.net_volts[divider->low];
  result.numbers =
      fmt::format("{}{} {} / ({} + {}) = {}", joined, text(volts, Unit::volt),
                  text(lower, Unit::ohm), text(upper, Unit::ohm),
                  text(lower, Unit::ohm), text(result.hand, Unit::volt));
  result.source =
      "Kuphaldt, Lessons In Electric Circuits vol. I ch. 6, voltage divider circuits";
  result.mark = Mark::verified;
  results.push_back(std::move(result));
}

/// P = (Vin - Vout) I + Vin IQ of a fixed regulator that regulates, with its common pin
/// on ground, and TJ = TA + P RthJA. Malvino & Bates, Electronic Principles, ch. 24,
/// example 24-7 (its first term); data sheets add the second.
void regulator_heat(const Circuit& circuit, const std::vector<Part>& parts,
                    const Observation& seen, int index,
                    std::vector<HandResult>& results) {
  const Part& part = parts[index];
  const int in = part.nets[0];
  const int out = part.nets[2];
  if (in < 0 || out < 0 || part.nets[1] != 0) return;
  const auto set = figure(part, "output");
  const auto quiescent = figure(part, "quiescent");
  const auto dropout = figure(part, "dropout");
  const double above = seen.net_volts[in];
  const double amps = -current_into(seen, {index, 2});
  const bool is_regulating =
      set && quiescent && dropout && amps >= 0.0 && above - set->value > dropout->value;
  if (!is_regulating) return;
  HandResult result;
  result.rule = "regulator-heat";
  result.part = part.name;
  result.quantity = "power";
  result.unit = Unit::watt;
  result.formula = "P = (Vin - Vout) I + Vin IQ";
  result.hand = (above - set->value) * amps + above * quiescent->value;
  result.solved = seen.part_watts[index];
  result.numbers = fmt::format(
      "({} - {}) {} + {} {} = {}", text(above, Unit::volt),
      text(set->value, Unit::volt), text(amps, Unit::ampere), text(above, Unit::volt),
      text(quiescent->value, Unit::ampere), text(result.hand, Unit::watt));
  result.source =
      fmt::format("Malvino & Bates, Electronic Principles, example 24-7; IQ: {}",
                  source_of(*quiescent));
  result.mark = quiescent->mark == Mark::given ? Mark::verified : quiescent->mark;
  const auto resistance = figure(part, "thermal_resistance");
  results.push_back(result);
  if (!resistance || figure(part, "heatsink")) return;
  const double watts = result.hand;
  result.rule = "regulator-temperature";
  result.quantity = "temperature";
  result.unit = Unit::celsius;
  result.formula = "TJ = TA + P RthJA";
  result.hand = circuit.ambient + watts * resistance->value;
  result.solved = circuit.ambient + seen.part_watts[index] * resistance->value;
  result.numbers = fmt::format(
      "{} + {} {} = {}", text(circuit.ambient, Unit::celsius), text(watts, Unit::watt),
      text(resistance->value, Unit::kelvin_per_watt), text(result.hand, Unit::celsius));
  result.source = source_of(*resistance);
  result.mark = resistance->mark;
  results.push_back(std::move(result));
}

}  // namespace

std::vector<HandResult> by_hand(const Circuit& circuit, const std::vector<Part>& parts,
                                const State& phase, const Observation& seen) {
  std::vector<HandResult> results;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const int index = static_cast<int>(i);
    if (parts[i].kind == KindId::led)
      led_resistor(circuit, parts, phase, seen, index, results);
    if (parts[i].kind == KindId::regulator)
      regulator_heat(circuit, parts, seen, index, results);
  }
  for (std::size_t n = 0; n < circuit.nets.size(); ++n)
    loaded_divider(circuit, parts, seen, static_cast<int>(n), results);
  return results;
}

}  // namespace benchproof
