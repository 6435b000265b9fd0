#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "core/base/preferred.h"
#include "core/catalogue/fit/fit.h"
#include "core/catalogue/pins.h"
#include "core/check/rating/overload.h"
#include "core/check/rest/joints.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutLed[] = {
    {"led-current", "an LED's current",
     "average over the phases <= 'current'; each phase <= 'pulse', those above "
     "'current' no longer on end than 'pulse_time' and for no more of the time than "
     "'pulse_duty'; without 'pulse' each phase <= 'current'. Up to 1.25 times a "
     "'current' that its source calls typical is a caution, up to twice where a "
     "battery "
     "gives more than its 'pulse' and so does not keep it up. Too long or too frequent "
     "is a caution up to 1.25 times, and beyond that below the straight line on "
     "logarithmic scales from the pulse rating to 'current' (1.25 times it where "
     "typical) at 10 s, or all of the time",
     "the part's figures 'current', 'pulse', 'pulse_time', 'pulse_duty'; 'benchproof "
     "parts TYPE' names their sources and marks; the 1.25 of a typical current: sheets "
     "of standard LEDs allow 25 mA at least where 20 mA are typical; the other 1.25 "
     "and the line: common practice, no source (practice)",
     "above its rating an LED overheats, grows dim and fails",
     "raise its resistor: R = (supply - forward voltage) / current"},
    {"led-reverse", "an LED's voltage in reverse",
     "V(cathode) - V(anode) <= 'reverse', where something other than leaks holds it: a "
     "diode in series that blocks takes what the LED does not bear, and one across it "
     "the other way round conducts first. A caution where the diode in series leaks "
     "more than the LED (a Schottky diode); a note where 'dark = true' and a resistor "
     "in "
     "its row keeps (V - 'reverse') / R within 'current'",
     "the part's figure 'reverse'; 'benchproof parts TYPE' names its source and mark",
     "LEDs bear some 5 V in reverse only: they break down and are damaged",
     "turn it round, or put a diode in parallel the other way round"},
    {"led-power", "an LED's heat", "P = V I <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than it gives off", "lower its current"},
    {"led-junction", "the temperature of the crystal",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "heat ages an LED faster than anything else", "lower its current"},
    {"led-headroom", "what is left for the resistor of LEDs in a row",
     "V(resistors) at least 10 % of V(resistors) + V(LEDs), where the LED gets less "
     "than half of its 'current'; what an output's own resistance takes counts as a "
     "resistor's",
     "common practice, no source (practice)",
     "with so little left, a supply a little lower or an LED a little different makes "
     "it dark: forward voltages differ by some tenths of a volt from one to the next",
     "fewer LEDs in the row, or a higher supply"},
};

/// So many times its usual current an LED bears for minutes. Common practice, no
/// source.
constexpr double kBorneForAWhile = 2.0;

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
  constexpr double kMostOhms = 1e12;  // What a description may ask for.
  if (!(needed > figure(resistor, "value")->value) || needed > kMostOhms) return {};
  return fmt::format("raise '{}' to at least {}", resistor.name,
                     short_text(preferred_at_least(Series::e24, needed), Unit::ohm));
}

/// "raise 'quay_r' to some 390 ohm or more", by the voltage across the LED and the
/// resistor beside it as it is now; it rises where what feeds both gives way.
std::string rough_advice(const CheckInput& input, int led, int resistor,
                         const std::string& phase_name, double amps) {
  std::string advice = fmt::format("raise '{}'", input.parts[resistor].name);
  const auto phase =
      std::find_if(input.phases.begin(), input.phases.end(),
                   [&](const SeenPhase& p) { return p.phase.name == phase_name; });
  const auto drop = forward_volts(input.parts[led], amps, input.circuit.ambient);
  const auto present = figure(input.parts[resistor], "value");
  if (phase == input.phases.end() || !drop || !present) return advice;
  const auto across = [&](int part) {
    const std::vector<int>& nets = input.parts[part].nets;
    return nets[0] < 0 || nets[1] < 0 ? 0.0
                                      : std::abs(phase->seen.net_volts[nets[0]] -
                                                 phase->seen.net_volts[nets[1]]);
  };
  const double needed = (across(led) + across(resistor) - *drop) / amps;
  if (!(needed > present->value)) return advice;
  return fmt::format("{} to some {} or more", advice,
                     short_text(preferred_at_least(Series::e24, needed), Unit::ohm));
}

/// "raise 'set', which sets the current of 'source'", where an LED's current comes from
/// an adjustable regulator by way of the resistor from its output to its adjust pin;
/// else empty.
std::string source_advice(const CheckInput& input, int index) {
  for (const int start : {0, 1}) {
    int from = index;
    int net = input.parts[index].nets[start];
    for (std::size_t step = 0; step < input.parts.size() && net >= 0; ++step) {
      int next = -1;
      for (const PinRef pin : resting_pins(input.circuit, net)) {
        const Part& part = input.parts[pin.part];
        if (part.kind == KindId::led && pin.part != from) next = pin.part;
        if (part.kind != KindId::regulator || part.pins[pin.pin] != "adjust") continue;
        for (const PinRef other : resting_pins(input.circuit, net)) {
          const Part& set = input.parts[other.part];
          if (set.kind == KindId::resistor && other_net(set, net) == part.nets[kOut])
            return fmt::format("raise '{}', which sets the current of '{}'", set.name,
                               part.name);
        }
      }
      if (next < 0) break;
      net = other_net(input.parts[next], net);
      from = next;
    }
  }
  return {};
}

/// What to do about too much current: as exact as the circuit allows.
std::string current_advice(const CheckInput& input, int index, const std::string& phase,
                           double amps) {
  std::string exact = resistor_advice(input, index, phase, amps);
  if (exact.empty()) exact = source_advice(input, index);
  if (!exact.empty()) return exact;
  for (const int net : input.parts[index].nets) {
    if (net < 0) continue;
    const auto pins = resting_pins(input.circuit, net);
    if (pins.size() != 2) continue;
    const int other = pins[0].part == index ? pins[1].part : pins[0].part;
    if (input.parts[other].kind == KindId::resistor)
      return rough_advice(input, index, other, phase, amps);
  }
  return "put a resistor in series with it";
}

/// How long an output's PWM is high or low without a break. Second.
double on_seconds(const OutputSetting& pwm, bool is_high) {
  return (is_high ? pwm.duty : 1.0 - pwm.duty) / pwm.hertz;
}

/// How long the phases of PWM in which something holds, which take a share of the time,
/// last on end at most: as long as every output that does the same in all of them does
/// so; where one frequency is all there is, as long as all of them together. Second.
double longest_on(const CheckInput& input, const std::vector<const Phase*>& phases,
                  double share) {
  using Level = OutputSetting::Level;
  std::set<double> frequencies;
  double seconds = std::numeric_limits<double>::infinity();
  for (const auto& [pin, setting] : input.state.outputs) {
    if (setting.level != Level::pwm) continue;
    frequencies.insert(setting.hertz);
    const auto high =
        std::count_if(phases.begin(), phases.end(), [pin = pin](const Phase* phase) {
          return output(phase->state, pin).level == Level::high;
        });
    if (high == static_cast<std::ptrdiff_t>(phases.size()) || high == 0)
      seconds = std::min(seconds, on_seconds(setting, high > 0));
  }
  if (frequencies.empty()) return seconds;
  const bool is_one = frequencies.size() == 1;
  return is_one || std::isinf(seconds) ? share / *frequencies.begin() : seconds;
}

/// What PWM sends through an LED above a current, and how high alone where it never
/// falls below it; nothing where no phase is above it.
std::optional<Pulses> pulses_above(const CheckInput& input, int index, double amps) {
  Pulses pulses;
  std::vector<const Phase*> above;
  for (const SeenPhase& phase : input.phases) {
    const double here = pin_amps(phase.seen, index, 0);
    if (!exceeds(here, amps)) continue;
    above.push_back(&phase.phase);
    pulses.amps = std::max(pulses.amps, here);
    pulses.duty += phase.phase.share;
    pulses.duty_amps += phase.phase.share * here;
  }
  if (above.empty()) return std::nullopt;
  if (above.size() == input.phases.size()) return Pulses{.amps = pulses.amps};
  pulses.duty_amps /= pulses.duty;
  pulses.seconds = longest_on(input, above, pulses.duty);
  pulses.strain = pulse_strain(input.parts[index], pulses.amps, pulses.seconds);
  return pulses;
}

/// What is past an LED's pulse rating, without what to do.
std::optional<Finding> check_pulses(const CheckInput& input, int index,
                                    const Rating& rating, const Peak& peak,
                                    double lasting) {
  const Part& led = input.parts[index];
  const auto limit = limit_of(rating, led, input.circuit.ambient);
  const auto pulses = limit ? pulses_above(input, index, lasting) : std::nullopt;
  if (!pulses) return std::nullopt;
  const PulseExcess excess = excess_of(led, *pulses);
  if (!excess.severity) return std::nullopt;
  Finding finding =
      about_rating(input, index, rating, {peak, *limit, *excess.severity});
  tell_excess(led, *pulses, excess, finding);
  return finding;
}

/// Whether all that feeds a circuit are batteries that give more than even a pulse may
/// be: what they give now they do not keep up.
bool is_sagging(const CheckInput& input) {
  bool has_battery = false;
  for (int k = 0; k < static_cast<int>(input.parts.size()); ++k) {
    const Part& part = input.parts[k];
    if (!is_source(part.kind)) continue;
    const auto pulse = number_of(part, "pulse");
    if (part.kind != KindId::battery || !pulse) return false;
    has_battery = true;
    if (!exceeds(-pin_amps(input.average, k, 0), *pulse)) return false;
  }
  return has_battery;
}

/// Past its rating, and how far past it: what its class usually gets is not what every
/// maker allows.
Finding past_lasting(const CheckInput& input, int index, const Rating& rating,
                     const Standing& found, const std::string& advice) {
  Finding finding = about_rating(input, index, rating, found);
  const Figure& limit = found.limit;
  const double amps = found.value.value;
  const bool is_usual = limit.is_typical;
  const double most = limit.value * (is_usual ? kTypicalRoom : 1.0);
  const std::string past =
      past_text(amps, limit, is_usual ? "usual operating current" : rating.rest.words,
                finding.part);
  if (!is_usual) {
    finding.message = fmt::format("{}; {}", past, advice);
  } else if (is_sagging(input) && !exceeds(amps, kBorneForAWhile * limit.value)) {
    finding.severity = Severity::caution;
    finding.message = fmt::format(
        "{}, as long as the battery is fresh: it sags within minutes, and the LED "
        "grows "
        "dim with it; {}",
        past, advice);
  } else if (exceeds(amps, most)) {
    finding.message = fmt::format("{}; not every type stands more than {}: {}", past,
                                  short_text(most, Unit::ampere), advice);
  } else {
    finding.severity = Severity::caution;
    finding.message = fmt::format(
        "{}; it stands that, but ages faster and gets hotter: {}", past, advice);
  }
  return finding;
}

/// The average against the continuous rating; pulses against the pulse rating, or
/// where none is known each phase against the continuous one.
std::optional<Finding> check_current(const CheckInput& input, int index,
                                     const Rating& rating) {
  const Part& led = input.parts[index];
  const Rating& for_pulses = rating_at_rest(led.kind, rating.rest.check, "pulse");
  const Peak peak = *measured(input, index, for_pulses, 0);
  const auto usual = limit_number_of(rating, led, input.circuit.ambient);
  if (!usual || !exceeds(peak.value, *usual)) return std::nullopt;
  const auto lasting = standing(input, index, rating);
  if (!lasting) return std::nullopt;
  const Figure& limit = lasting->limit;
  const std::string advice = current_advice(input, index, peak.phase, limit.value);
  const double room = limit.is_typical ? kTypicalRoom : 1.0;
  if (exceeds(lasting->value.value, limit.value * room))
    return past_lasting(input, index, rating, *lasting, advice);
  auto pulsed = check_pulses(input, index, for_pulses, peak, limit.value);
  if (pulsed) {
    pulsed->message += fmt::format("; {}", advice);
    return pulsed;
  }
  if (lasting->severity) return past_lasting(input, index, rating, *lasting, advice);
  Finding finding =
      about_rating(input, index, rating, {peak, limit, Severity::caution});
  finding.message = fmt::format(
      "while on, {}; its average of {} is within it, but an output that sticks is not: "
      "{}",
      past_text(peak.value, limit,
                limit.is_typical ? "usual operating current" : rating.rest.words,
                led.name),
      short_text(pin_amps(input.average, index, 0), Unit::ampere), advice);
  return finding;
}

/// The highest reverse voltage over the phases in which it is more than what leaks
/// share out; nothing where it is none, or another junction conducts before it is high.
std::optional<Peak> held_in_reverse(const CheckInput& input, int index) {
  if (is_antiparallel(input.circuit, index)) return std::nullopt;
  std::optional<Peak> peak;
  for (const SeenPhase& phase : input.phases) {
    const double volts = volts_between(input, phase.seen, index, 1, 0);
    if (peak && !(volts > peak->value)) continue;
    if (is_voltage_held(input, phase, index)) peak = Peak{volts, phase.phase.name};
  }
  return peak;
}

/// What becomes of an LED that is meant to be dark and breaks down in reverse, where
/// what stands in its row keeps the current within its rating.
std::optional<Finding> borne_in_reverse(const CheckInput& input, int index,
                                        const Rating& rating, const Standing& found) {
  const Part& led = input.parts[index];
  const double ohms = row_of_led(input.circuit, index).ohms;
  const auto rated = number_of(led, "current");
  if (!flag(led, "dark", false) || !rated || !(ohms > 0.0)) return std::nullopt;
  const double amps = (found.value.value - found.limit.value) / ohms;
  if (exceeds(amps, *rated)) return std::nullopt;
  Finding finding =
      about_rating(input, index, rating, {found.value, found.limit, Severity::note});
  finding.message = fmt::format(
      "{}; should it break down, what stands in its row limits it to {}: a diode in "
      "series keeps all of it off",
      past_text(found.value.value, found.limit, rating.rest.words, led.name),
      short_text(amps, Unit::ampere, 2));
  return finding;
}

/// What an LED whose diode in series leaks more than itself takes in reverse: little
/// current, but all of the voltage.
Finding leaked_in_reverse(const CheckInput& input, int index, const Rating& rating,
                          const Standing& found) {
  Finding finding =
      about_rating(input, index, rating, {found.value, found.limit, Severity::caution});
  finding.message = fmt::format(
      "the diode in series with '{0}' leaks more in reverse than it does, and leaves "
      "{1} of the voltage to it, which is rated for {2}: too little flows to harm it "
      "at "
      "once; use a silicon diode (a 1N4148), or put one across '{0}' the other way "
      "round",
      finding.part, short_text(found.value.value, Unit::volt),
      short_text(found.limit.value, Unit::volt));
  return finding;
}

/// Past the reverse rating. One that no phase lights is taken to be turned round by
/// mistake, one that lights in another phase to be meant so.
std::optional<Finding> check_reverse(const CheckInput& input, int index,
                                     const Rating& rating) {
  const auto all = told_standing(input, index, rating);
  if (!all) return std::nullopt;
  const auto peak = held_in_reverse(input, index);
  if (!peak || !exceeds(peak->value, all->limit.value)) return std::nullopt;
  const Standing found{*peak, all->limit, all->severity};
  if (row_of_led(input.circuit, index).blocks)
    return leaked_in_reverse(input, index, rating, found);
  if (auto note = borne_in_reverse(input, index, rating, found)) return note;
  const Peak forward =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  Finding finding = about_rating(input, index, rating, found);
  const std::string past =
      past_text(peak->value, found.limit, rating.rest.words, finding.part);
  finding.message =
      forward.value < kLitAmps
          ? fmt::format(
                "'{}' looks the wrong way round: its cathode lies above its "
                "anode, and {}; turn it round",
                finding.part, past)
          : fmt::format("{}; {}", past, rating.rest.advice);
  return finding;
}

/// The part beyond a net through which the current of `from` flows on, alone: -1 where
/// it is shared, or joined by others'.
int next_in_row(const CheckInput& input, const Observation& seen, int from, int net,
                double amps) {
  constexpr double kAside = 0.1;  // What may go elsewhere: a pull-up, a leak.
  int next = -1;
  for (const PinRef pin : input.circuit.nets[net].pins) {
    if (input.parts[pin.part].kind == KindId::capacitor) continue;
    const double here = std::abs(pin_amps(seen, pin.part, pin.pin));
    if (pin.part == from || here <= kAside * amps) continue;
    if (next >= 0 || here > (1.0 + kAside) * amps) return -1;
    next = pin.part;
  }
  return next;
}

/// What the parts in one row with an LED take: LEDs and diodes, and resistors.
struct Row {
  double junction_volts = 0.0;
  double resistor_volts = 0.0;
  bool has_resistor = false;
  int first = -1;  ///< The LED of the row that stands first in the description.
};

/// What the pin of a controller that drives a net keeps for itself: it limits the
/// current as a resistor does. Volt; 0 where none drives it.
double pin_volts(const CheckInput& input, const Observation& seen, int net) {
  for (const PinRef pin : input.circuit.nets[net].pins) {
    const Part& part = input.parts[pin.part];
    if (part.kind != KindId::controller || !is_output_pin(part, pin.pin)) continue;
    const auto level = output(input.state, pin).level;
    if (level == OutputSetting::Level::open) continue;
    const int rail = pin_amps(seen, pin.part, pin.pin) < 0.0 ? kVdd : kVss;
    return std::abs(volts_between(input, seen, pin.part, rail, pin.pin));
  }
  return 0.0;
}

Row row_of(const CheckInput& input, const Observation& seen, int led) {
  Row row;
  row.first = led;
  row.junction_volts = std::abs(volts_between(input, seen, led, 0, 1));
  const double amps = std::abs(pin_amps(seen, led, 0));
  for (const int start : {0, 1}) {
    int from = led;
    int net = input.parts[led].nets[start];
    for (std::size_t step = 0; step < input.parts.size() && net >= 0; ++step) {
      const int next = next_in_row(input, seen, from, net, amps);
      if (next < 0 || next == led) break;
      const Part& part = input.parts[next];
      const bool is_resistor = is_passage(part.kind);
      if (!is_resistor && part.kind != KindId::led && part.kind != KindId::diode) break;
      const double volts = std::abs(volts_between(input, seen, next, 0, 1));
      (is_resistor ? row.resistor_volts : row.junction_volts) += volts;
      row.has_resistor = row.has_resistor || is_resistor;
      if (part.kind == KindId::led) row.first = std::min(row.first, next);
      net = other_net(part, net);
      from = next;
    }
    if (net >= 0) row.resistor_volts += pin_volts(input, seen, net);
  }
  return row;
}

/// LEDs in a row that leave their resistor next to nothing.
std::optional<Finding> check_headroom(const CheckInput& input, int index) {
  constexpr double kLeastShare = 0.1;
  constexpr double kDimShare = 0.5;
  const auto rated = number_of(input.parts[index], "current");
  if (!rated) return std::nullopt;
  for (const SeenPhase& phase : input.phases) {
    const double amps = pin_amps(phase.seen, index, 0);
    if (amps < kLitAmps || amps > kDimShare * *rated) continue;
    const Row row = row_of(input, phase.seen, index);
    const double all = row.resistor_volts + row.junction_volts;
    if (!row.has_resistor || row.first != index ||
        row.resistor_volts >= kLeastShare * all)
      continue;
    Finding finding =
        about_part(input, index, Severity::caution, CheckId(kAboutLed, "led-headroom"));
    set_limit(finding, "voltage", row.resistor_volts,
              practice(kLeastShare * all, Unit::volt,
                       "a tenth of the voltage is left for the resistor"));
    finding.bound = Bound::lower;
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "only {} of {} are left for the resistor of '{}': another LED or a little less "
        "supply makes it dark; fewer LEDs in the row, or a higher supply",
        short_text(row.resistor_volts, Unit::volt), short_text(all, Unit::volt),
        input.parts[index].name);
    return finding;
  }
  return std::nullopt;
}

void check_blocked(const CheckInput& input, int index, const Rating& rating,
                   std::vector<Finding>& findings) {
  append(findings, check_reverse(input, index, rating));
  append(findings, check_headroom(input, index));
}

constexpr Special kLedSpecials[] = {
    {CheckId(kAboutLed, "led-current"), check_current},
    {CheckId(kAboutLed, "led-reverse"), nullptr, check_blocked}};

}  // namespace

std::vector<Finding> check_led(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::led, [&](int index, const Part&) {
    tell_ratings(input, index, findings, kLedSpecials);
  });
  return findings;
}

std::span<const Explanation> explain_led() { return kAboutLed; }

}  // namespace benchproof
