#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <tuple>
#include <utility>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutOutput[] = {
    {"controller-fight", "outputs of different level that meet",
     "less than 100 ohm between an output that is high and one that is low",
     "common practice, no source (practice)",
     "each tries to set the other's level: both pins carry far more than they are made "
     "for",
     "open one of them, or put a resistor between"},
    {"led-bare", "an LED at an output without a resistor",
     "only LEDs and diodes between an output and a rail or other output, where the "
     "description does not give the output's 'resistance_high' or 'resistance_low': "
     "fault where more than 1 V is left for the pin's own resistance",
     "common practice, no source (practice)",
     "an LED's current rises tenfold within some 0.1 V; only the pin's resistance, "
     "which differs from chip to chip, limits it",
     "put a resistor in series: R = (supply - forward voltage) / current"},
    {"base-bare", "a transistor's base at an output without a resistor",
     "less than 100 ohm between an output that drives a base and the base, with the "
     "emitter at a rail",
     "common practice, no source (practice)",
     "a base-emitter junction takes some 0.8 V whatever flows: only the pin's "
     "resistance, 25 to 40 ohm in many chips, limits the rest",
     "put a resistor before the base: R = (supply - 0.7 V) / base current, usually "
     "1 kohm to 10 kohm"},
    {"pin-strength", "what a strong pin does, where a weak one does no harm",
     "with outputs of 25 ohm: I(pin) <= 'pin_limit', caution above it, fault above 1.5 "
     "times, or where a lamp, motor, coil or buzzer right at the pin is made for more; "
     "an LED's current <= 1.25 times 'current', fault above 1.5 times",
     "the parts' figures 'pin_limit' and 'current'; 'benchproof parts TYPE' names "
     "their "
     "sources and marks; the 25 ohm and the factors: common practice, no source "
     "(practice)",
     "the pin's resistance used elsewhere is the highest published: voltages come out "
     "low, so currents do too. A stronger pin of the same family gives more",
     "raise the resistance of what it drives, or let a transistor switch it"},
};

/// Less than this between a high and a low output does not limit what flows. Common
/// practice, no source (5 V over 100 ohm are more than a pin may give).
constexpr double kFightOhms = 100.0;
/// With more than this left over for the pin alone an LED without a resistor is in
/// danger: 1 V over the 50 ohm and less of a strong pin are 20 mA. Common practice, no
/// source.
constexpr double kLeftVolts = 1.0;

/// So many times its limit harms any pin, and any LED; an LED stands a quarter more
/// than its class usually gets. Common practice, no source.
constexpr double kFarTimes = 1.5;
constexpr double kFullTimes = 1.25;

std::string pin_name(const CheckInput& input, PinRef pin) {
  const Part& part = input.parts[pin.part];
  return fmt::format("{}.{}", part.name, part.pins[pin.pin]);
}

/// The controller outputs that drive their net in a phase, and their level.
struct Driving {
  PinRef pin;
  bool is_high = false;
};

std::vector<Driving> driving(const CheckInput& input, const SeenPhase& phase) {
  std::vector<Driving> found;
  for_parts(input, KindId::controller, [&](int index, const Part& chip) {
    for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
      if (chip.nets[pin] < 0 || !is_output_pin(chip, pin)) continue;
      const auto level = output(phase.phase.state, {index, pin}).level;
      if (level == OutputSetting::Level::open) continue;
      found.push_back({{index, pin}, level == OutputSetting::Level::high});
    }
  });
  return found;
}

/// The ohms that a part puts between its two nets; infinite where it is no resistance.
double ohms_of(const CheckInput& input, const State& state, int index) {
  const Part& part = input.parts[index];
  const auto value = [&](std::string_view key) {
    return number_of(part, key).value_or(0.0);
  };
  switch (part.kind) {
    case KindId::resistor:
      return value("value");
    case KindId::fuse:
      return value("resistance");
    case KindId::inductor:
      return value("dcr");
    case KindId::wire:
      return 0.0;
    case KindId::switch_:
      if (is_closed(state, index)) return value("resistance");
      break;
    default:
      break;
  }
  return std::numeric_limits<double>::infinity();
}

/// A way from one net to another through a part of two pins.
struct Passage {
  int a = 0;
  int b = 0;
  double ohms = 0.0;
};

/// All passages that lead through no rail.
std::vector<Passage> passages(const CheckInput& input, const State& state) {
  std::vector<Passage> found;
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    const Part& part = input.parts[i];
    if (part.pins.size() != 2 || part.nets[0] < 0 || part.nets[1] < 0) continue;
    const double ohms = ohms_of(input, state, i);
    if (std::isinf(ohms) || is_rail(input.circuit, part.nets[0]) ||
        is_rail(input.circuit, part.nets[1]))
      continue;
    found.push_back({part.nets[0], part.nets[1], ohms});
  }
  return found;
}

/// The least resistance from a net to every other through these passages. Ohm.
std::vector<double> distances(const CheckInput& input,
                              const std::vector<Passage>& through, int net) {
  std::vector<double> ohms(input.circuit.nets.size(),
                           std::numeric_limits<double>::infinity());
  ohms[net] = 0.0;
  for (bool is_going_on = true; is_going_on;) {
    is_going_on = false;
    for (const Passage& p : through) {
      for (const auto& [from, to] : {std::pair{p.a, p.b}, std::pair{p.b, p.a}}) {
        if (!(ohms[from] + p.ohms < ohms[to])) continue;
        ohms[to] = ohms[from] + p.ohms;
        is_going_on = true;
      }
    }
  }
  return ohms;
}

/// What drives in a phase, and the least resistance from each to every net.
struct Outputs {
  std::vector<Driving> driving;
  std::vector<std::vector<double>> ohms;
};

Outputs outputs_in(const CheckInput& input, const SeenPhase& phase) {
  Outputs outputs{driving(input, phase), {}};
  if (outputs.driving.empty()) return outputs;
  const std::vector<Passage> through = passages(input, phase.phase.state);
  for (const Driving& output : outputs.driving) {
    const auto [part, pin] = output.pin;
    outputs.ohms.push_back(distances(input, through, input.parts[part].nets[pin]));
  }
  return outputs;
}

/// What was told of outputs so far, so that no phase and no later check repeats it.
struct Told {
  std::set<PinRef> outputs;                             ///< Named by any finding.
  std::set<std::tuple<PinRef, PinRef, double>> fights;  ///< High, low, ohms between.
  std::set<std::pair<int, PinRef>> bare_bases;  ///< Transistor, and what drives it.
};

void check_fights(const CheckInput& input, const SeenPhase& phase,
                  const Outputs& outputs, std::vector<Finding>& findings, Told& told) {
  for (std::size_t k = 0; k < outputs.driving.size(); ++k) {
    const Driving& high = outputs.driving[k];
    if (!high.is_high) continue;
    for (const Driving& low : outputs.driving) {
      if (low.is_high) continue;
      const double between =
          outputs.ohms[k][input.parts[low.pin.part].nets[low.pin.pin]];
      if (!(between < kFightOhms)) continue;
      if (!told.fights.emplace(high.pin, low.pin, between).second) continue;
      Finding finding = about_part(input, high.pin.part, Severity::fault,
                                   CheckId(kAboutOutput, "controller-fight"));
      set_limit(
          finding, "resistance", between,
          practice(kFightOhms, Unit::ohm, "outputs of different level are kept apart"));
      finding.bound = Bound::lower;
      finding.phase = phase.phase.name;
      finding.message = fmt::format(
          "outputs '{}' (high) and '{}' (low) fight: {} between them; open one of "
          "them, or put a resistor between",
          pin_name(input, high.pin), pin_name(input, low.pin),
          between > 0.0 ? "only " + short_text(between, Unit::ohm) : "nothing lies");
      findings.push_back(std::move(finding));
      told.outputs.insert({high.pin, low.pin});
    }
  }
}

/// LEDs, and diodes with them, from a net to a rail or to another output with nothing
/// else in the way.
struct Bare {
  std::vector<int> leds;
  int end = -1;
};

Bare bare_leds(const CheckInput& input, const Observation& seen, PinRef output,
               int first) {
  Bare bare;
  int net = input.parts[output.part].nets[output.pin];
  int next = first;
  while (next >= 0) {
    if (input.parts[next].kind == KindId::led) bare.leds.push_back(next);
    net = other_net(input.parts[next], net);
    if (net < 0) return {};
    const auto pins = resting_pins(input.circuit, net);
    const bool is_output = std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
      return is_output_pin(input.parts[pin.part], pin.pin);
    });
    bare.end = net;
    if (is_output || is_rail(input.circuit, net)) return bare;
    int following = -1;
    for (const PinRef pin : pins) {
      const KindId kind = input.parts[pin.part].kind;
      const bool is_junction = kind == KindId::led || kind == KindId::diode;
      if (pin.part == next) continue;
      if (std::abs(pin_amps(seen, pin.part, pin.pin)) < kLitAmps) continue;
      // The current comes from, or goes on through, what limits it.
      if (!is_junction) return {};
      following = pin.part;
    }
    const bool is_round =
        std::find(bare.leds.begin(), bare.leds.end(), following) != bare.leds.end();
    next = is_round ? -1 : following;
  }
  return {};
}

/// Whether the description says what resistance an output has between itself and its
/// rail: then that is its LED's resistor, and the currents tell whether it will do.
bool is_resistance_told(const CheckInput& input, const Driving& output) {
  const std::string key = output.is_high ? "resistance_high" : "resistance_low";
  return input.circuit.parts[output.pin.part].settings.contains(key) ||
         input.state.settings.contains({output.pin.part, key});
}

void check_bare(const CheckInput& input, const SeenPhase& phase, const Outputs& outputs,
                std::vector<Finding>& findings, Told& told) {
  const Observation& seen = phase.seen;
  for (const Driving& output : outputs.driving) {
    if (is_resistance_told(input, output)) continue;
    const Part& chip = input.parts[output.pin.part];
    const int net = chip.nets[output.pin.pin];
    for (const PinRef pin : resting_pins(input.circuit, net)) {
      const KindId kind = input.parts[pin.part].kind;
      const bool is_junction = kind == KindId::led || kind == KindId::diode;
      if (!is_junction || std::abs(pin_amps(seen, pin.part, 0)) < kLitAmps) continue;
      const Bare bare = bare_leds(input, seen, output.pin, pin.part);
      if (bare.leds.empty()) continue;
      const int led = bare.leds.front();
      const bool is_told =
          std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
            return f.check == "led-bare" && f.part == input.parts[led].name;
          });
      if (is_told) continue;
      const double across = std::abs(seen.net_volts[net] - seen.net_volts[bare.end]);
      const double left = volts_between(input, seen, output.pin.part, 0, 1) - across;
      Finding finding = about_part(
          input, led, exceeds(left, kLeftVolts) ? Severity::fault : Severity::caution,
          CheckId(kAboutOutput, "led-bare"));
      finding.quantity = "voltage";
      finding.unit = Unit::volt;
      finding.value = left;
      finding.phase = phase.phase.name;
      finding.source = source_of(
          practice(0.0, Unit::volt, "an LED has a resistor in series of its own"));
      finding.message = fmt::format(
          "'{}' stands at '{}' without a resistor in series: only the pin's own "
          "resistance, which differs from chip to chip, takes up {}",
          finding.part, pin_name(input, output.pin), short_text(left, Unit::volt));
      findings.push_back(std::move(finding));
      told.outputs.insert(output.pin);
    }
  }
}

/// Bases that an output drives with nothing of note between. One whose emitter follows
/// (its load stands between emitter and rail) wants no resistor.
void check_bare_bases(const CheckInput& input, const SeenPhase& phase,
                      const Outputs& outputs, std::vector<Finding>& findings,
                      Told& told) {
  for (std::size_t k = 0; k < outputs.driving.size(); ++k) {
    const Driving& output = outputs.driving[k];
    const std::vector<double>& ohms = outputs.ohms[k];
    for_parts(input, KindId::transistor, [&](int index, const Part& part) {
      const int base = part.nets[0];
      const int emitter = part.nets[2];
      if (base < 0 || emitter < 0 || !is_rail(input.circuit, emitter)) return;
      const double amps = std::abs(pin_amps(phase.seen, index, 0));
      if (!(ohms[base] < kFightOhms) || amps < kLitAmps) return;
      if (!told.bare_bases.emplace(index, output.pin).second) return;
      told.outputs.insert(output.pin);
      Finding finding =
          about_part(input, index, Severity::fault, CheckId(kAboutOutput, "base-bare"));
      set_limit(finding, "resistance", ohms[base],
                practice(kFightOhms, Unit::ohm, "a base has a resistor of its own"));
      finding.bound = Bound::lower;
      finding.phase = phase.phase.name;
      finding.message = fmt::format(
          "the base of '{}' stands at '{}' without a base resistor: only the pin's own "
          "resistance, which differs from chip to chip, limits its {}; put some 1 kohm "
          "between",
          part.name, pin_name(input, output.pin), short_text(amps, Unit::ampere));
      findings.push_back(std::move(finding));
    });
  }
}

/// A lamp, motor, coil or buzzer from a net to a rail that takes more than a limit at
/// its rated voltage; -1 where there is none.
int too_large_load(const CheckInput& input, int net, double limit) {
  for (const PinRef pin : resting_pins(input.circuit, net)) {
    const Part& part = input.parts[pin.part];
    if (!is_load(part.kind)) continue;
    const int other = other_net(part, net);
    const auto amps = figure(part, "current");
    if (other >= 0 && is_rail(input.circuit, other) && amps &&
        exceeds(amps->value, limit))
      return pin.part;
  }
  return -1;
}

/// Outputs within their limit only because the pin is taken as weak as any published
/// one.
void check_strength(const CheckInput& input, const SeenPhase& phase,
                    const Outputs& outputs, std::vector<Finding>& findings,
                    Told& told) {
  if (phase.strong == nullptr) return;
  for (const Driving& output : outputs.driving) {
    const auto [index, pin] = output.pin;
    const Part& chip = input.parts[index];
    const auto limit = figure(chip, "pin_limit");
    const double amps = std::abs(pin_amps(phase.seen, index, pin));
    if (!limit || amps < kLitAmps || exceeds(amps, limit->value)) continue;
    const double strong = std::abs(pin_amps(*phase.strong, index, pin));
    if (!exceeds(strong, limit->value)) continue;
    if (!told.outputs.insert(output.pin).second) continue;
    const std::string name = pin_name(input, output.pin);
    const int load = too_large_load(input, chip.nets[pin], limit->value);
    const bool is_far = load >= 0 || exceeds(strong, kFarTimes * limit->value);
    Finding finding =
        about_part(input, index, is_far ? Severity::fault : Severity::caution,
                   CheckId(kAboutOutput, "pin-strength"));
    set_limit(finding, "current", strong, *limit);
    finding.phase = phase.phase.name;
    const std::string of = short_text(limit->value, Unit::ampere);
    const std::string much = short_text(strong, Unit::ampere, 2);
    if (load >= 0) {
      finding.message = fmt::format(
          "'{}' is not for '{}', which takes {} where a pin may give {}: let a "
          "transistor switch it",
          name, input.parts[load].name,
          short_text(figure(input.parts[load], "current")->value, Unit::ampere), of);
    } else {
      finding.message = fmt::format(
          "'{}' carries {} only because it is taken as a weak pin; one of {} gives {}, "
          "above the limit of {}: raise the resistance of what it drives, or let a "
          "transistor switch it",
          name, short_text(amps, Unit::ampere), short_text(kStrongOhms, Unit::ohm),
          much, of);
    }
    findings.push_back(std::move(finding));
  }
}

/// LEDs that bear an output's current only because the pin is taken as weak.
void check_lit_hard(const CheckInput& input, const SeenPhase& phase,
                    std::vector<Finding>& findings) {
  if (phase.strong == nullptr) return;
  for_parts(input, KindId::led, [&](int index, const Part& led) {
    const auto limit = figure(led, "current");
    const double amps = pin_amps(phase.seen, index, 0);
    if (!limit || amps < kLitAmps || exceeds(amps, kFullTimes * limit->value)) return;
    const double strong = pin_amps(*phase.strong, index, 0);
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&led](const Finding& f) {
          return f.part == led.name &&
                 (f.check == "led-bare" || f.check == "pin-strength");
        });
    if (is_told || !exceeds(strong, kFullTimes * limit->value)) return;
    const bool is_far = exceeds(strong, kFarTimes * limit->value);
    Finding finding =
        about_part(input, index, is_far ? Severity::fault : Severity::caution,
                   CheckId(kAboutOutput, "pin-strength"));
    set_limit(finding, "current", strong, *limit);
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "'{}' gets {} only because the output is taken as a weak pin; one of {} gives "
        "{}, above its {}: raise its resistor",
        led.name, short_text(amps, Unit::ampere), short_text(kStrongOhms, Unit::ohm),
        short_text(strong, Unit::ampere, 2), short_text(limit->value, Unit::ampere));
    findings.push_back(std::move(finding));
  });
}

}  // namespace

std::vector<Finding> check_output(const CheckInput& input) {
  std::vector<Finding> findings;
  Told told;
  for (const SeenPhase& phase : input.phases) {
    const Outputs outputs = outputs_in(input, phase);
    check_fights(input, phase, outputs, findings, told);
    check_bare(input, phase, outputs, findings, told);
    check_bare_bases(input, phase, outputs, findings, told);
    check_strength(input, phase, outputs, findings, told);
    check_lit_hard(input, phase, findings);
  }
  return findings;
}

std::span<const Explanation> explain_output() { return kAboutOutput; }

}  // namespace benchproof
