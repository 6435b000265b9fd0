#include "core/check/hand/wiring.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/catalogue/pins.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr double kIdleShare = 100.0;
/// No handbook's chain is longer; one that runs in a circle ends here as well.
constexpr int kLongestWalk = 100;

/// Whether an output pin drives a net on which only one other pin carries current, and
/// what it is then joined to, through what.
bool end_at_output(const Wiring& wiring, PinRef pin, Walk& walk) {
  const Part& chip = wiring.parts[pin.part];
  if (chip.kind != KindId::controller || !is_output_pin(chip, pin.pin)) return false;
  const auto level = output(wiring.state, pin).level;
  const bool is_high = level == OutputSetting::Level::high;
  if (!is_high && level != OutputSetting::Level::low) return false;
  const auto ohms = figure(chip, is_high ? "resistance_high" : "resistance_low");
  const int rail = chip.nets[is_high ? kVdd : kVss];
  if (!ohms || rail < 0) return false;
  walk.end = rail;
  walk.output_ohms = ohms->value;
  walk.has_output = true;
  return true;
}

bool is_diode(const Part& part) {
  return part.kind == KindId::diode || part.kind == KindId::led;
}

/// Adds a part to a chain; whether its current may flow in at that pin.
bool append(const Wiring& wiring, Walk::Step step, bool with_the_walk, Chain& chain) {
  const Part& part = wiring.parts[step.part];
  chain.parts.push_back(step.part);
  if (is_diode(part)) {
    chain.diodes.push_back(step.part);
    return (step.entered == 0) == with_the_walk;
  }
  chain.ohms.push_back(*ohms_of(wiring, step.part));
  if (is_resistor(part)) ++chain.resistors;
  return true;
}

}  // namespace

bool is_end(const Circuit& circuit, int net) {
  if (net == 0) return true;
  if (net < 0) return false;
  const auto& pins = circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&circuit](PinRef pin) {
    switch (circuit.parts[pin.part].kind) {
      case KindId::dc_supply:
      case KindId::battery:
      case KindId::voltage_source:
        return true;
      case KindId::regulator:
        return pin.pin != kCommon;
      case KindId::controller:
        return pin.pin < kFirstPin;
      default:
        return false;
    }
  });
}

bool is_listener(const Wiring& wiring, PinRef pin) {
  const Part& part = wiring.parts[pin.part];
  if (part.kind == KindId::mosfet) return pin.pin == kGate;
  return part.kind == KindId::controller && pin.pin >= kFirstPin &&
         !is_output_pin(part, pin.pin);
}

bool are_listeners_idle(const Wiring& wiring, int net, double ohms, double least,
                        double most, const std::vector<double>& net_volts) {
  const auto& pins = wiring.circuit.nets[net].pins;
  return std::all_of(pins.begin(), pins.end(), [&](PinRef pin) {
    if (!is_listener(wiring, pin)) return true;
    const Part& part = wiring.parts[pin.part];
    const auto leak = figure(part, "leak_resistance");
    if (leak && leak->value < kIdleShare * ohms) return false;
    if (part.kind != KindId::controller) return true;
    const int vdd = part.nets[kVdd];
    const int vss = part.nets[kVss];
    return vdd >= 0 && vss >= 0 && least >= net_volts[vss] - 1e-3 &&
           most <= net_volts[vdd] + 1e-3;
  });
}

std::vector<PinRef> working_pins(const Wiring& wiring, int net) {
  std::vector<PinRef> pins = resting_pins(wiring.circuit, net);
  std::erase_if(pins, [&](PinRef pin) { return is_listener(wiring, pin); });
  return pins;
}

bool is_resistor(const Part& part) {
  return part.kind == KindId::resistor || part.kind == KindId::light_resistor ||
         part.kind == KindId::heat_resistor;
}

std::optional<double> ohms_of(const Wiring& wiring, int index) {
  const Part& part = wiring.parts[index];
  const auto number = [&part](std::string_view key) -> std::optional<double> {
    const auto found = figure(part, key);
    if (!found) return std::nullopt;
    return found->value;
  };
  if (is_resistor(part)) return number("value");
  if (part.kind == KindId::fuse) return number("resistance");
  if (part.kind == KindId::inductor) return number("dcr").value_or(0.0);
  if (part.kind == KindId::switch_ && is_closed(wiring.state, index))
    return number("resistance");
  if (part.kind == KindId::wire) {
    const auto resistivity = number("resistivity_ohm_metres");
    const auto length = number("length");
    const auto gauge = number("gauge");
    if (resistivity && length && gauge) return *resistivity * *length / *gauge;
  }
  if (is_load(part.kind)) {
    const auto volts = number("voltage");
    const auto amps = number("current");
    if (volts && amps) return *volts / *amps;
  }
  return std::nullopt;
}

std::optional<Walk> walk(const Wiring& wiring, PinRef from, int except) {
  Walk walk;
  PinRef here = from;
  for (int k = 0; k < kLongestWalk; ++k) {
    const int net = wiring.parts[here.part].nets[here.pin];
    if (net < 0) return std::nullopt;
    if (is_end(wiring.circuit, net)) {
      walk.end = net;
      return walk;
    }
    std::vector<PinRef> pins = resting_pins(wiring.circuit, net);
    std::erase_if(pins, [&](PinRef pin) { return pin.part == except; });
    if (pins.size() != 2) return std::nullopt;
    const PinRef next = pins[0] == here ? pins[1] : pins[0];
    if (next.part == here.part) return std::nullopt;
    if (end_at_output(wiring, next, walk)) return walk;
    const Part& part = wiring.parts[next.part];
    if (part.pins.size() != 2) return std::nullopt;
    if (!is_diode(part) && !ohms_of(wiring, next.part)) return std::nullopt;
    walk.between.push_back(net);
    walk.steps.push_back({next.part, next.pin});
    here = {next.part, 1 - next.pin};
  }
  return std::nullopt;
}

double Chain::total_ohms() const {
  return std::accumulate(ohms.begin(), ohms.end(), output_ohms);
}

std::optional<Chain> chain_of(const Wiring& wiring, int part) {
  const Part& middle = wiring.parts[part];
  if (middle.pins.size() != 2) return std::nullopt;
  if (!is_diode(middle) && !ohms_of(wiring, part)) return std::nullopt;
  const auto before = walk(wiring, {part, 0});
  if (!before) return std::nullopt;
  const auto after = walk(wiring, {part, 1});
  if (!after) return std::nullopt;
  Chain chain;
  chain.from = before->end;
  chain.to = after->end;
  if (chain.from == chain.to) return std::nullopt;
  chain.has_output = before->has_output || after->has_output;
  chain.output_ohms = before->output_ohms + after->output_ohms;
  for (auto step = before->steps.rbegin(); step != before->steps.rend(); ++step)
    if (!append(wiring, *step, false, chain)) return std::nullopt;
  if (!append(wiring, {part, 0}, true, chain)) return std::nullopt;
  for (const Walk::Step& step : after->steps)
    if (!append(wiring, step, true, chain)) return std::nullopt;
  return chain;
}

std::optional<Chain> load_of(const Wiring& wiring, const Walk& walk, bool outward) {
  Chain chain;
  chain.from = chain.to = walk.end;
  chain.has_output = walk.has_output;
  chain.output_ohms = walk.output_ohms;
  for (const Walk::Step& step : walk.steps)
    if (!append(wiring, step, outward, chain)) return std::nullopt;
  return chain;
}

std::optional<std::vector<Figure>> drops_of(const Wiring& wiring, const Chain& chain) {
  std::vector<Figure> drops;
  for (const int diode : chain.diodes) {
    const Part& part = wiring.parts[diode];
    // What a sheet states of a diode is for a current far above a hobbyist's: only a
    // drop that was given is one. An LED is used near its test current.
    const auto drop =
        part.kind == KindId::led ? published_drop(part) : figure(part, "drop");
    const auto slope = figure(part, "slope");
    if (!drop || (slope && slope->value > 0.0)) return std::nullopt;
    drops.push_back(*drop);
  }
  return drops;
}

std::string hand_text(double value, Unit unit) {
  // Below this the witnesses testify to nothing.
  constexpr double kNoVolts = 1e-6;
  if (unit == Unit::volt && std::abs(value) < kNoVolts) return "0 V";
  return short_text(value, unit, 4);
}

std::vector<double> telling(std::vector<double> values) {
  constexpr double kNothing = 1e-6;
  const double sum = std::accumulate(values.begin(), values.end(), 0.0);
  std::erase_if(values, [sum](double value) { return value < kNothing * sum; });
  return values;
}

std::string sum_text(const std::vector<double>& all, Unit unit) {
  const std::vector<double> values = telling(all);
  const bool is_one_value =
      std::all_of(values.begin(), values.end(),
                  [&values](double value) { return value == values.front(); });
  if (values.size() > 1 && is_one_value)
    return fmt::format("{} x {}", values.size(), hand_text(values.front(), unit));
  std::vector<std::string> texts;
  texts.reserve(values.size());
  for (const double value : values) texts.push_back(hand_text(value, unit));
  return fmt::format("{}", fmt::join(texts, " + "));
}

std::string bracketed(const std::vector<double>& values, Unit unit) {
  const std::string sum = sum_text(values, unit);
  return telling(values).size() > 1 ? "(" + sum + ")" : sum;
}

std::string over_text(double volts, const std::vector<double>& drops) {
  if (drops.empty()) return hand_text(volts, Unit::volt);
  const std::string sum = sum_text(drops, Unit::volt);
  const bool is_sum = sum.find('+') != std::string::npos;
  return fmt::format("({} - {})", hand_text(volts, Unit::volt),
                     is_sum ? "(" + sum + ")" : sum);
}

void cite(HandResult& result, std::string_view symbol, const Figure& figure) {
  if (figure.mark == Mark::given) return;
  result.source += fmt::format("; {}: {}", symbol, source_of(figure));
  // From the firmest to the weakest.
  const auto weakness = [](Mark mark) {
    switch (mark) {
      case Mark::verified:
        return 0;
      case Mark::derived:
      case Mark::given:
        return 1;
      case Mark::memory:
        return 2;
      case Mark::practice:
        return 3;
    }
    return 3;
  };
  if (weakness(figure.mark) > weakness(result.mark)) result.mark = figure.mark;
}

}  // namespace benchproof
