#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"transistor-half-on", "whether a transistor that switches a load does so fully",
     "what stays across it, of what it shares with the load: at most 1 V or a tenth, "
     "whichever is more",
     "common practice, no source (practice)",
     "what is half on keeps the voltage that the load should have, and turns it into "
     "heat",
     "give its base more current"},
    {"mosfet-half-on", "whether a MOS transistor that switches a load does so fully",
     "what stays across it, of what it shares with the load: at most 1 V or a tenth, "
     "whichever is more",
     "common practice, no source (practice)",
     "what is half on keeps the voltage that the load should have, and turns it into "
     "heat",
     "give its gate more voltage, or use a type made for less"},
    {"mosfet-body", "a load's current through a MOS transistor's body diode",
     "drain current in reverse while its gate is not driven, at most 1 mA",
     "common practice, no source (practice)", "the body diode cannot be switched off",
     "exchange drain and source"},
    {"transistor-saturation",
     "whether a transistor driven by a controller's output is saturated",
     "Vce while on <= 'saturation_max'",
     "the part's figure 'saturation_max'; 'benchproof parts TYPE' names its source and "
     "mark",
     "short of base current it keeps more voltage than it needs to, and heats",
     "give its base more current: a tenth to a twentieth of the collector's"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

// Pins of a bipolar transistor are base, collector, emitter, of a MOS one gate, drain,
// source: in the same order.
constexpr int kControl = 0, kHigh = 1, kLow = 2;

/// What a switch that is on may keep: more than both of these, and it is not fully on.
/// Common practice, no source.
constexpr double kKeptVolts = 1.0;
constexpr double kKeptShare = 0.1;
/// A load that carries less of its rated current than this is off. Common practice.
constexpr double kOffShare = 0.01;
/// What drives a gate, or a base, for certain. Common practice, no source.
constexpr double kGateVolts = 1.0;
constexpr double kBaseVolts = 0.5;
constexpr double kBaseAmps = 10e-6;  // Less is leakage.
/// What a body diode takes at least when it carries a load's current.
constexpr double kBodyVolts = 0.4;

/// What stands between a transistor's collector or drain and the rail that feeds it.
struct LoadPath {
  std::vector<int> loads;  ///< Lamps, motors, coils, buzzers, LEDs on the way.
  int end = -1;            ///< The last net reached.
};

bool is_path(KindId kind) {
  return is_passage(kind) || kind == KindId::led || kind == KindId::diode ||
         kind == KindId::switch_;
}

/// Follows the largest current away from `net`, through parts of two pins, to a rail.
LoadPath load_path(const CheckInput& input, const Observation& seen, int transistor,
                   int net) {
  LoadPath path;
  std::vector<int> passed{transistor};
  path.end = net;
  while (path.end >= 0 && !is_rail(input.circuit, path.end)) {
    int next = -1;
    double most = 0.0;
    for (const PinRef pin : input.circuit.nets[path.end].pins) {
      const Part& part = input.parts[pin.part];
      const double amps = std::abs(pin_amps(seen, pin.part, pin.pin));
      const bool is_new =
          std::find(passed.begin(), passed.end(), pin.part) == passed.end();
      if (!is_path(part.kind) || !is_new || amps <= most) continue;
      if (other_net(part, path.end) < 0) continue;
      next = pin.part;
      most = amps;
    }
    if (next < 0) break;
    passed.push_back(next);
    const Part& part = input.parts[next];
    if (is_load(part.kind) || part.kind == KindId::led) path.loads.push_back(next);
    path.end = other_net(part, path.end);
  }
  return path;
}

/// Whether the emitter's or source's current flows on through a resistor or load: a
/// follower or a current sink, which is never meant to be fully on.
bool is_follower(const CheckInput& input, const Observation& seen, int index) {
  const int net = input.parts[index].nets[kLow];
  if (net < 0 || is_rail(input.circuit, net)) return false;
  const double amps = std::abs(pin_amps(seen, index, kLow));
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const KindId kind = input.parts[pin.part].kind;
    const bool is_resistive = is_passage(kind) || kind == KindId::trimmer;
    return is_resistive && std::abs(pin_amps(seen, pin.part, pin.pin)) > 0.5 * amps;
  });
}

/// Whether the control pin stands on the net of a transistor joined as a diode: a
/// current mirror.
bool is_mirror(const CheckInput& input, int index) {
  const int net = input.parts[index].nets[kControl];
  if (net < 0) return false;
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const Part& part = input.parts[pin.part];
    const bool is_transistor =
        part.kind == KindId::transistor || part.kind == KindId::mosfet;
    return is_transistor && part.nets[kControl] == net && part.nets[kHigh] == net;
  });
}

/// What a controller's output on a net, or behind one resistor from it, asks of a
/// transistor of that polarity: on, off, or nothing known.
enum class Wishes { on, off, unknown };

Wishes asked_by_outputs(const CheckInput& input, const State& state, int net,
                        double sign) {
  for (const PinRef pin : resting_pins(input.circuit, net)) {
    if (!is_output_pin(input.parts[pin.part], pin.pin)) continue;
    const auto level = output(state, pin).level;
    if (level == OutputSetting::Level::open) continue;
    const bool is_high = level == OutputSetting::Level::high;
    return is_high == (sign > 0.0) ? Wishes::on : Wishes::off;
  }
  return Wishes::unknown;
}

Wishes asked(const CheckInput& input, const State& state, int index) {
  const Part& part = input.parts[index];
  const int net = part.nets[kControl];
  if (net < 0) return Wishes::unknown;
  const double sign = polarity(part);
  const Wishes here = asked_by_outputs(input, state, net, sign);
  if (here != Wishes::unknown) return here;
  for (const PinRef pin : resting_pins(input.circuit, net)) {
    const Part& resistor = input.parts[pin.part];
    if (resistor.kind != KindId::resistor) continue;
    const int far = other_net(resistor, net);
    if (far < 0 || is_rail(input.circuit, far)) continue;
    const Wishes there = asked_by_outputs(input, state, far, sign);
    if (there != Wishes::unknown) return there;
  }
  return Wishes::unknown;
}

/// Whether the control pin's voltage turns the transistor on.
bool is_driven(const CheckInput& input, const Observation& seen, int index) {
  const Part& part = input.parts[index];
  const double volts =
      polarity(part) * volts_between(input, seen, index, kControl, kLow);
  if (part.kind == KindId::mosfet) return volts > kGateVolts;
  return volts > kBaseVolts &&
         polarity(part) * pin_amps(seen, index, kControl) > kBaseAmps;
}

/// The load's largest share of its rated current; 1 where that is not known.
double load_share(const CheckInput& input, const Observation& seen,
                  const std::vector<int>& loads) {
  double most = 0.0;
  for (const int load : loads) {
    const auto rated = figure(input.parts[load], "current");
    if (!rated) return 1.0;
    most = std::max(most, std::abs(pin_amps(seen, load, 0)) / rated->value);
  }
  return most;
}

/// A transistor that carries a load's current and keeps a good part of its voltage.
std::optional<Finding> check_fully_on(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  if (part.nets[kHigh] < 0 || part.nets[kLow] < 0 || is_mirror(input, index))
    return std::nullopt;
  const double sign = polarity(part);
  std::optional<Finding> worst;
  for (const SeenPhase& phase : input.phases) {
    const Observation& seen = phase.seen;
    const double kept = sign * volts_between(input, seen, index, kHigh, kLow);
    if (!exceeds(kept, kKeptVolts) || !is_driven(input, seen, index)) continue;
    if (worst && kept <= *worst->value) continue;
    const LoadPath path = load_path(input, seen, index, part.nets[kHigh]);
    if (path.loads.empty() || is_follower(input, seen, index)) continue;
    const double shared =
        sign * (seen.net_volts[path.end] - seen.net_volts[part.nets[kLow]]);
    if (!exceeds(kept, kKeptShare * shared)) continue;
    const bool is_off = asked(input, phase.phase.state, index) == Wishes::off;
    if (is_off && load_share(input, seen, path.loads) < kOffShare) continue;
    worst = about_part(
        input, index, Severity::caution,
        part.kind == KindId::mosfet ? id("mosfet-half-on") : id("transistor-half-on"));
    set_limit(*worst, "voltage", kept,
              practice(std::max(kKeptVolts, kKeptShare * shared), Unit::volt,
                       "a switch that is on keeps less than 1 V or a tenth"));
    worst->phase = phase.phase.name;
    worst->message = fmt::format(
        "'{}' is not fully {}: {} stay across it, of {} that it shares with '{}'; {}",
        part.name, is_off ? "off" : "on", short_text(kept, Unit::volt),
        short_text(shared, Unit::volt), input.parts[path.loads.front()].name,
        is_off                        ? "bring its control pin to its other rail"
        : part.kind == KindId::mosfet ? "give its gate more voltage, or use a type "
                                        "made for less"
                                      : "give its base more current");
  }
  return worst;
}

/// A MOS transistor that is off, but whose body diode carries a load's current.
std::optional<Finding> check_body(const CheckInput& input, int index) {
  constexpr double kBodyAmps = 1e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const double sign = polarity(part);
  const Peak body = highest(input, [&](const Observation& seen) {
    const double reverse = sign * volts_between(input, seen, index, kLow, kHigh);
    const bool is_body = reverse > kBodyVolts && !is_driven(input, seen, index);
    return is_body ? -sign * pin_amps(seen, index, kHigh) : 0.0;
  });
  if (!exceeds(body.value, kBodyAmps)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::fault, id("mosfet-body"));
  set_limit(finding, "current", body.value,
            practice(kBodyAmps, Unit::ampere, "a switch that is off carries nothing"));
  finding.phase = body.phase;
  finding.message = fmt::format(
      "'{}' carries {} through its body diode with its gate not driven, so that it "
      "cannot switch that off: are drain and source the wrong way round",
      part.name, short_text(body.value, Unit::ampere));
  return finding;
}

/// Whether a resistor alone joins the base to a controller's output: then the
/// transistor is meant as a switch.
bool is_driven_as_switch(const CheckInput& input, const Part& transistor) {
  const int base = transistor.nets[kControl];
  if (base < 0) return false;
  for (const PinRef pin : resting_pins(input.circuit, base)) {
    const Part& resistor = input.parts[pin.part];
    if (resistor.kind != KindId::resistor) continue;
    const int net = other_net(resistor, base);
    if (net < 0) continue;
    const auto pins = resting_pins(input.circuit, net);
    const bool is_output = std::any_of(pins.begin(), pins.end(), [&](PinRef p) {
      return input.parts[p.part].kind == KindId::controller && p.pin >= 2;
    });
    if (is_output) return true;
  }
  return false;
}

/// A switch that is on has no more than its saturation voltage; with more it is short
/// of base current and heats.
std::optional<Finding> check_saturation(const CheckInput& input, int index) {
  constexpr double kOnAmps = 1e-3;  // Common practice, no source.
  const Part& part = input.parts[index];
  const auto limit = figure(part, "saturation_max");
  if (!limit || !is_driven_as_switch(input, part)) return std::nullopt;
  const double sign = polarity(part);
  const Peak volts = highest(input, [&](const Observation& seen) {
    const bool is_on = sign * pin_amps(seen, index, kHigh) > kOnAmps &&
                       sign * pin_amps(seen, index, kControl) > 0.0;
    return is_on ? sign * volts_between(input, seen, index, kHigh, kLow) : 0.0;
  });
  if (!exceeds(volts.value, limit->value)) return std::nullopt;
  Finding finding =
      about_part(input, index, Severity::caution, id("transistor-saturation"));
  set_limit(finding, "voltage", volts.value, *limit);
  finding.phase = volts.phase;
  const bool is_behind =
      std::any_of(input.phases.begin(), input.phases.end(), [&](const SeenPhase& p) {
        return p.phase.name == volts.phase && is_follower(input, p.seen, index);
      });
  finding.message = fmt::format(
      "'{}' is switched on and keeps {} from collector to emitter, above the {} of "
      "saturation; {}",
      part.name, short_text(volts.value, Unit::volt),
      short_text(limit->value, Unit::volt),
      is_behind
          ? "what it feeds at its emitter gets 0.7 V less than its base, whatever "
            "the current: put the load at its collector"
          : "give its base more current");
  return finding;
}

}  // namespace

std::vector<Finding> check_switching(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::transistor, [&](int index, const Part&) {
    auto half = check_fully_on(input, index);
    append(findings, half ? std::move(half) : check_saturation(input, index));
  });
  for_parts(input, KindId::mosfet, [&](int index, const Part&) {
    append(findings, check_fully_on(input, index));
    append(findings, check_body(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_switching() { return kExplained; }

}  // namespace benchproof
