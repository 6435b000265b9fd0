#include "core/check/time/run_ratings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "core/check/rest/limits.h"
#include "core/check/time/run_watch.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"run-heat", "a part's heat during a run",
     "mean power over every stretch of time <= what it bears for so long: its lasting "
     "power ('power', or ('junction_max' - ambient) / 'thermal_resistance', whichever "
     "is less) times a factor. Resistors: 300 up to 1 us, 6.25 at 5 s, 1 from 30 s on; "
     "semiconductors: 100 up to 10 us, 10 at 10 ms, 1 from 10 s on; those in a case "
     "for "
     "a heat sink, without one: 3162 up to 10 us, 100 at 10 ms, 1 from 100 s on; "
     "between "
     "them straight on logarithmic scales. Caution from half of that on. Before the "
     "run "
     "it was as at its start, after it all is off",
     "the part's figures, named by 'benchproof parts TYPE'; the factors: IEC 60115-1 "
     "short-time overload for resistors, usual curves of transient thermal resistance "
     "for semiconductors (memory); the half: common practice, no source (practice)",
     "a rating for ever may be passed for a moment, until what the part stores has "
     "heated it",
     "ease what drives it, or use a larger one"},
    {"run-current", "a lasting current rating during a run",
     "mean current (RMS for switches, inductors and wires) over every stretch of time "
     "<= the rating times a factor. Diodes, LEDs, zeners, regulators, MOS transistors "
     "with a pulse rating: 100 up to 10 us, 10 at 10 ms, 1 from 10 s on, where a surge "
     "or pulse rating is known only stretches of 1 s and more; switches: 10 up to 1 "
     "ms, "
     "1 from 1 s on; inductors: 10 up to 10 ms, 1 from 10 s on, and a caution where "
     "the "
     "peak is above the rating; wires: 6.7 at 1 s, 2 from 11 s on. Caution from half "
     "of "
     "that on",
     "the part's figures, named by 'benchproof parts TYPE'; the factors: wires by IEC "
     "60364-4-43 (memory), others common practice, no source (practice)",
     "what it heats takes a while to get hot",
     "limit the current, or use a larger one"},
    {"run-fuse", "whether a fuse opens during a run",
     "RMS current over every stretch of time: it opens for certain at 10 times 'rated' "
     "over 20 ms, 4 over 0.3 s, 2.75 over 2 s, 2.1 over 30 min; for shorter ones at "
     "the "
     "same I^2 t. Caution from three tenths of that on, and above 1.5 times 'rated'",
     "IEC 60127-2 sheet 2, quick-acting (memory)",
     "an inrush can open a fuse that carries the lasting current easily",
     "a larger or a time-lag fuse, or less inrush: a resistor in series"},
    {"run-load-voltage", "a lamp's, motor's, coil's or buzzer's voltage during a run",
     "mean |V| over every stretch of time <= 'voltage' times: lamps 2 up to 10 ms, 1.3 "
     "from 0.1 s on; motors and coils 4 up to 10 ms, 1.3 from 10 s on; buzzers 1.3. "
     "Caution from 0.85 of that and above 1.1 times 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the factors: common practice, no source (practice)",
     "a filament burns through within a blink, a winding within seconds",
     "keep the voltage off it: a zener, a series resistor, another supply"},
    {"run-resistor-voltage", "the voltage across a resistor during a run",
     "highest |V|: caution above 'working_voltage', fault above twice as much",
     "the part's figure 'working_voltage'; 'benchproof parts TYPE' names its source "
     "and "
     "mark; twice: the overload test of IEC 60115-1 (memory)",
     "beyond it the film arcs over", "use two in series"},
    {"run-reverse", "a diode's or LED's reverse voltage during a run",
     "V(cathode) - V(anode) <= 'reverse' at every moment",
     "the part's figure 'reverse'; 'benchproof parts TYPE' names its source and mark",
     "it breaks down, however short it lasts",
     "put a diode the other way round across it, or use one that bears more"},
    {"run-surge", "a diode's or LED's current during a run",
     "highest forward current <= 'surge' (LED: 'pulse'), and not above 'current' for "
     "more than 1 ms without a word of it",
     "the part's figures 'current', 'surge' and 'pulse'; 'benchproof parts TYPE' names "
     "their sources and marks; the 1 ms: common practice, no source (practice)",
     "a large capacitor behind a diode takes a great current when it is charged",
     "less capacitance behind it, or a resistor in series, eases it"},
    {"run-transistor-voltage", "a transistor's voltage during a run",
     "|Vce| or |Vds| <= 'voltage' at every moment",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark",
     "it breaks down, however short it lasts", "clamp it with a diode"},
    {"run-transistor-current", "a transistor's current during a run",
     "|Ic| or |Id| <= 'pulse', without it <= 'current', for all but less than 1 us: "
     "models without charges switch in no time, and make up spikes as short",
     "the part's figures 'current' and 'pulse'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "beyond it the bond wires and the crystal fail",
     "limit what it switches, or use a larger one"},
    {"run-base", "a base-emitter junction in reverse during a run",
     "V(emitter) - V(base) (turned for PNP) <= 'base_reverse' at every moment",
     "the part's figure 'base_reverse'; 'benchproof parts TYPE' names its source and "
     "mark",
     "it breaks down at some 6 V, and loses its gain each time it does",
     "clamp it with a diode from emitter to base"},
    {"run-gate", "a gate's voltage during a run", "|Vgs| <= 'gate' at every moment",
     "the part's figure 'gate'; 'benchproof parts TYPE' names its source and mark",
     "once the gate's oxide is pierced the part is dead",
     "clamp the gate with a zener"},
    {"run-regulator-input", "a regulator's input during a run",
     "V(in) - V(common) <= 'input_max', V(in) - V(out) <= 'difference_max' at every "
     "moment",
     "the part's figures 'input_max' and 'difference_max'; 'benchproof parts TYPE' "
     "names their sources and marks",
     "above its rating a regulator breaks down",
     "clamp its input, or feed it from less"},
    {"run-regulator-reverse", "a regulator's input below its common pin during a run",
     "V(common) - V(in) at most 0.3 V at every moment",
     "common practice, no source (practice)",
     "its parasitic diodes conduct, which destroys it", "guard its input with a diode"},
    {"run-back-feed", "a capacitor that feeds a regulator backwards",
     "V(out) - V(in) at most 0.7 V within 10 ms, with more than 25 uF at its output: "
     "caution, above 7 V fault",
     "25 uF: what sheets of the LM317 bear without a diode (memory); 7 V: breakdown of "
     "the output transistor's base (memory); 10 ms: common practice, no source "
     "(practice)",
     "when the input is pulled down faster than the output falls, the output capacitor "
     "discharges backwards through the regulator",
     "a diode from out to in, banded end at in"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// Shorter overloads of an LED than this heat nothing. Common practice, no source.
constexpr double kMoment = 1e-3;  // second

constexpr double kHalf = 0.5;
constexpr double kCarefulLoad = 0.85;  // 1.1 of 1.3: where the checks at rest begin.
constexpr double kShortest = 1e-6;     // second
constexpr std::string_view kPractice = "common practice, no source";
constexpr std::string_view kJunctions =
    "usual curves of transient thermal resistance, from memory";

constexpr Endurance kSmallJunction{kSmallJunctionCurve, kHalf,      1.0,         false,
                                   kShortest,           kJunctions, Mark::memory};
constexpr Endurance kCasedJunction{kCasedJunctionCurve, kHalf,      1.0,         false,
                                   kShortest,           kJunctions, Mark::memory};
constexpr Endurance kResistor{kResistorCurve,
                              kHalf,
                              1.0,
                              false,
                              kShortest,
                              "IEC 60115-1, short-time overload, and makers' pulse "
                              "curves, from memory",
                              Mark::memory};
constexpr Endurance kFuse{kFuseCurve,  0.3,       1.5,
                          true,        kShortest, "IEC 60127-2 sheet 2, from memory",
                          Mark::memory};
constexpr Endurance kWire{kWireCurve,  kHalf,     1.0,
                          true,        kShortest, "IEC 60364-4-43, from memory",
                          Mark::memory};
constexpr Endurance kContact{kContactCurve, kHalf, 1.0, true, kShortest, kPractice};
constexpr Endurance kWinding{kWindingCurve, kHalf, 1.0, true, kShortest, kPractice};
constexpr Endurance kFilamentVolts{kFilamentVoltsCurve, kCarefulLoad, 1.1, false,
                                   kShortest,           kPractice};
constexpr Endurance kWindingVolts{kWindingVoltsCurve, kCarefulLoad, 1.1, false,
                                  kShortest,          kPractice};
constexpr Endurance kBuzzerVolts{kBuzzerVoltsCurve, kCarefulLoad, 1.1, false,
                                 kShortest,         kPractice};

Trace volts_between(const RunInput& input, int index, int pin, int other) {
  return input.seen.volts(input.parts[index], pin, other);
}

/// The heat of a semiconductor. What follows from a current that is too high anyway
/// says so.
void check_junction(const RunInput& input, int index, std::string_view advice,
                    std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto limit = lasting_watts(part, input.circuit.ambient);
  if (!limit) return;
  const bool is_cased =
      !figure(part, "heatsink") && figure(part, "thermal_resistance_case").has_value();
  std::string cause;
  for (const Finding& f : findings) {
    const bool is_load = f.check == "run-current" || f.check == "run-surge" ||
                         f.check == "run-transistor-current";
    if (f.part == part.name && f.severity == Severity::fault && is_load)
      cause = f.check;
  }
  const std::size_t told = findings.size();
  hold_lasting(input, index, input.seen.watts(index), *limit,
               {id("run-heat"), "power", "takes",
                is_cased ? kCasedJunction : kSmallJunction, advice},
               findings);
  if (findings.size() > told) findings.back().follows = cause;
}

void hold_current(const RunInput& input, int index, const Trace& amps,
                  std::string_view key, const Endurance& endurance,
                  std::string_view advice, std::vector<Finding>& findings) {
  if (const auto limit = figure(input.parts[index], key)) {
    hold_lasting(input, index, amps, *limit,
                 {id("run-current"), "current", "carries", endurance, advice},
                 findings);
  }
}

// --- resistors, wires, fuses, contacts, windings

void check_resistor(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  Trace watts = input.seen.watts(index);
  if (part.kind == KindId::trimmer) {  // Its rating is for the whole track.
    const double ohms = figure(part, "value")->value;
    const Trace a = sized(input.seen.amps(index, 0));
    const Trace b = sized(input.seen.amps(index, 2));
    for (std::size_t k = 0; k < watts.values.size(); ++k) {
      const double amps = std::max(a.values[k], b.values[k]);
      watts.values[k] = amps * amps * ohms;
    }
  }
  if (const auto limit = resistor_rating(part, input.circuit.ambient)) {
    hold_lasting(input, index, watts, *limit,
                 {id("run-heat"), "power", "takes", kResistor,
                  "use one of a higher power rating, made for pulses"},
                 findings);
  }
  constexpr double kMomentTimes = 2.0;
  const auto working = figure(part, "working_voltage");
  if (!working) return;
  const std::size_t told = findings.size();
  const Watched volts{id("run-resistor-voltage"), "voltage", "working_voltage",
                      "working voltage", "use two in series"};
  watch(input, index, sized(volts_between(input, index, 0, 1)), volts, findings);
  if (findings.size() > told &&
      !exceeds(*findings.back().value, kMomentTimes * working->value))
    findings.back().severity = Severity::caution;
}

void check_fuse(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto rated = figure(part, "rated");
  if (!rated) return;
  const std::size_t told = findings.size();
  const bool opens =
      hold_lasting(input, index, sized(input.seen.amps(index, 0)), *rated,
                   {id("run-fuse"), "current", "carries", kFuse,
                    "a time-lag one bears more, and less inrush is easier on it"},
                   findings);
  if (findings.size() == told) return;
  std::string& message = findings.back().message;
  const std::string name = "'" + part.name + "'";
  message = fmt::format("{} {} if it is a quick-acting one: it{}", name,
                        opens ? "opens" : "may open", message.substr(name.size()));
}

void check_inductor(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto rated = figure(part, "rated");
  if (!rated) return;
  const Trace amps = sized(input.seen.amps(index, 0));
  const std::size_t told = findings.size();
  hold_lasting(
      input, index, amps, *rated,
      {id("run-current"), "current", "carries", kWinding, "use one for more current"},
      findings);
  if (findings.size() > told) return;
  watch(input, index, amps,
        {id("run-current"), "current", "rated", "current rating",
         "its core may saturate, and then it carries far more than shown here"},
        findings);
  if (findings.size() > told) findings.back().severity = Severity::caution;
}

void check_load(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto rated = figure(part, "voltage");
  if (!rated) return;
  const Endurance& endurance = part.kind == KindId::lamp     ? kFilamentVolts
                               : part.kind == KindId::buzzer ? kBuzzerVolts
                                                             : kWindingVolts;
  hold_lasting(input, index, sized(volts_between(input, index, 0, 1)), *rated,
               {id("run-load-voltage"), "voltage", "gets", endurance,
                "keep such a voltage off it"},
               findings);
}

// --- semiconductors

void check_diode(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const Trace forward = input.seen.amps(index, 0);
  const bool is_led = part.kind == KindId::led;
  watch(input, index, volts_between(input, index, 1, 0),
        {id("run-reverse"), "voltage", "reverse", "reverse voltage limit",
         "put a diode the other way round across it, or use one that bears more"},
        findings);
  const std::string_view short_key = is_led ? "pulse" : "surge";
  const std::string_view advice =
      is_led ? "raise its resistor"
             : "less capacitance behind it, or a resistor in series, eases it";
  if (watch(input, index, forward,
            {id("run-surge"), "current", short_key,
             is_led ? "pulse limit" : "surge limit", advice},
            findings))
    return;
  const auto surge = figure(part, short_key);
  const auto lasting = figure(part, "current");
  if (!lasting) return;
  Endurance endurance = kSmallJunction;
  if (surge) endurance.least_seconds = 1.0;  // The surge rating is for shorter ones.
  Trace conducting = forward;
  for (double& value : conducting.values) value = std::max(value, 0.0);
  std::vector<Finding> held;
  if (hold_lasting(input, index, conducting, *lasting,
                   {id("run-current"), "current", "carries", endurance, advice},
                   held)) {
    findings.push_back(std::move(held.front()));
    return;
  }
  const Extremes e = extremes(forward, input.seen.whole());
  if (!exceeds(e.highest, lasting->value)) return;
  const double seconds =
      total_length(beyond(forward, lasting->value, true, input.seen.whole()));
  if (seconds <= kMoment) return;
  if (surge && !is_led) {  // Within what the type bears for a short while.
    Finding finding = about(part, Severity::note, id("run-surge"));
    set_limit(finding, "current", e.highest, *surge);
    finding.message = fmt::format(
        "'{}' carries up to {} at {}, above its lasting {} for {}; it bears {} for a "
        "moment",
        part.name, short_text(e.highest, Unit::ampere), for_time(e.highest_at),
        short_text(lasting->value, Unit::ampere), for_time(seconds),
        short_text(surge->value, Unit::ampere));
    findings.push_back(std::move(finding));
    return;
  }
  Finding finding = about(part, Severity::caution, id("run-surge"));
  set_limit(finding, "current", e.highest, *lasting);
  finding.message =
      fmt::format("{}, for {}; see whether it bears such pulses",
                  past_text(e.highest, *lasting, "continuous rating", part.name),
                  for_time(seconds));
  findings.push_back(std::move(finding));
}

void check_bipolar(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  watch(input, index, sized(volts_between(input, index, 1, 2)),
        {id("run-transistor-voltage"), "voltage", "voltage", "collector-emitter limit",
         "clamp it with a diode"},
        findings);
  watch(input, index, sized(input.seen.amps(index, 1)),
        {id("run-transistor-current"), "current", "current", "current limit",
         "limit what it switches, or use a larger one", kShortest},
        findings);
  Trace reverse = volts_between(input, index, 2, 0);
  if (polarity(part) < 0.0) reverse = turned(std::move(reverse));
  watch(input, index, reverse,
        {id("run-base"), "voltage", "base_reverse", "reverse base-emitter limit",
         "clamp it with a diode from emitter to base"},
        findings);
}

void check_mos(const RunInput& input, int index, std::vector<Finding>& findings) {
  watch(input, index, sized(volts_between(input, index, 1, 2)),
        {id("run-transistor-voltage"), "voltage", "voltage", "drain-source limit",
         "clamp it with a diode"},
        findings);
  const Trace amps = sized(input.seen.amps(index, 1));
  const bool has_pulse = figure(input.parts[index], "pulse").has_value();
  const std::string_view advice = "limit what it switches, or use a larger one";
  const bool is_told =
      watch(input, index, amps,
            {id("run-transistor-current"), "current", has_pulse ? "pulse" : "current",
             "current limit", advice, kShortest},
            findings);
  if (has_pulse && !is_told)
    hold_current(input, index, amps, "current", kSmallJunction, advice, findings);
  watch(input, index, sized(volts_between(input, index, 0, 2)),
        {id("run-gate"), "voltage", "gate", "gate-source limit",
         "clamp the gate with a zener"},
        findings);
}

// --- regulators

constexpr int kIn = 0, kCommon = 1, kOut = 2;

/// Voltage from one pin to another, for a negative regulator the other way round: above
/// zero where all is well.
Trace rail_volts(const RunInput& input, int index, int pin, int other) {
  Trace trace = volts_between(input, index, pin, other);
  return polarity(input.parts[index]) > 0.0 ? trace : turned(std::move(trace));
}

/// The largest sum of capacitances from a net to any other. Farad.
double farads_at(const RunInput& input, int net) {
  double sum = 0.0;
  for (const Part& part : input.parts) {
    if (part.kind != KindId::capacitor) continue;
    const bool is_here = (part.nets[0] == net) != (part.nets[1] == net);
    if (is_here) sum += figure(part, "value")->value;
  }
  return sum;
}

/// An input that is pulled down faster than the capacitor at the output follows. One
/// that falls slowly takes little of its charge.
void check_back_feed(const RunInput& input, int index, std::vector<Finding>& findings) {
  constexpr double kFarads = 25e-6;
  constexpr double kConducts = 0.7;
  constexpr double kBreaks = 7.0;
  constexpr double kSoon = 10e-3;
  const Part& part = input.parts[index];
  if (part.nets[kIn] < 0 || part.nets[kOut] < 0) return;
  const double farads = farads_at(input, part.nets[kOut]);
  if (!exceeds(farads, kFarads)) return;
  const Trace above = rail_volts(input, index, kOut, kIn);
  double most = 0.0;
  double at = 0.0;
  for (const Stretch& s : beyond(above, 0.0, true, input.seen.whole())) {
    const Extremes e = extremes(above, {s.from, std::min(s.to, s.from + kSoon)});
    if (e.highest > most) {
      most = e.highest;
      at = s.from;
    }
  }
  if (!exceeds(most, kConducts)) return;
  const bool is_over = exceeds(most, kBreaks);
  Finding finding =
      about(part, is_over ? Severity::fault : Severity::caution, id("run-back-feed"));
  set_limit(finding, "voltage", most,
            {is_over ? kBreaks : kConducts, Unit::volt, Mark::memory,
             "sheets of three-pin regulators, from memory", ""});
  finding.message = fmt::format(
      "from {} on the input of '{}' falls behind its output, by {} within {}: the {} "
      "there discharge backwards through it; lead a diode between out and in, banded "
      "end at {}",
      for_time(at), part.name, short_text(most, Unit::volt), for_time(kSoon),
      short_text(farads, Unit::farad), polarity(part) > 0.0 ? "in" : "out");
  findings.push_back(std::move(finding));
}

void check_regulator(const RunInput& input, int index, std::vector<Finding>& findings) {
  constexpr double kReverse = 0.3;
  const Part& part = input.parts[index];
  const Watched in{id("run-regulator-input"), "voltage", "input_max", "input limit",
                   "clamp its input, or feed it from less"};
  watch(input, index, rail_volts(input, index, kIn, kCommon), in, findings);
  Watched across = in;
  across.key = "difference_max";
  across.words = "input-output limit";
  watch(input, index, rail_volts(input, index, kIn, kOut), across, findings);
  watch(input, index, rail_volts(input, index, kCommon, kIn),
        practice(kReverse, Unit::volt, "the input stays above common"),
        {id("run-regulator-reverse"), "voltage", "", "bearable reverse input",
         "guard it with a diode"},
        findings);
  // A negative one takes its load's current in at out.
  Trace delivered = input.seen.amps(index, kOut);
  if (polarity(part) > 0.0) delivered = turned(std::move(delivered));
  for (double& value : delivered.values) value = std::max(value, 0.0);
  const bool is_cased = figure(part, "thermal_resistance_case").has_value();
  hold_current(input, index, delivered, "current",
               is_cased ? kCasedJunction : kSmallJunction,
               "draw less, or use one for more current", findings);
  check_back_feed(input, index, findings);
}

}  // namespace

void check_run_ratings(const RunInput& input, int index,
                       std::vector<Finding>& findings) {
  const auto amps = [&] { return sized(input.seen.amps(index, 0)); };
  switch (input.parts[index].kind) {
    case KindId::resistor:
    case KindId::trimmer:
    case KindId::light_resistor:
    case KindId::heat_resistor:
      check_resistor(input, index, findings);
      break;
    case KindId::wire:
      if (const auto limit = wire_rating(input.parts[index], input.circuit.ambient)) {
        hold_lasting(
            input, index, amps(), *limit,
            {id("run-current"), "current", "carries", kWire, "use a thicker one"},
            findings);
      }
      break;
    case KindId::fuse:
      check_fuse(input, index, findings);
      break;
    case KindId::switch_:
      hold_current(input, index, amps(), "rated", kContact,
                   "its contacts weld: less inrush, or one for more current", findings);
      break;
    case KindId::inductor:
      check_inductor(input, index, findings);
      break;
    case KindId::lamp:
    case KindId::motor:
    case KindId::relay_coil:
    case KindId::buzzer:
      check_load(input, index, findings);
      break;
    case KindId::diode:
    case KindId::led:
      check_diode(input, index, findings);
      check_junction(input, index, "lower its current", findings);
      break;
    case KindId::zener:
      hold_current(input, index, amps(), "current", kSmallJunction,
                   "raise the resistor that feeds it", findings);
      check_junction(input, index, "raise the resistor that feeds it", findings);
      break;
    case KindId::transistor:
      check_bipolar(input, index, findings);
      check_junction(input, index, "lower its current or voltage", findings);
      break;
    case KindId::mosfet:
      check_mos(input, index, findings);
      check_junction(input, index, "lower its current or voltage", findings);
      break;
    case KindId::regulator:
      check_regulator(input, index, findings);
      check_junction(input, index, "lower its input or its load", findings);
      break;
    case KindId::controller:
      check_junction(input, index, "draw less from its pins", findings);
      break;
    default:
      break;
  }
}

std::span<const Explanation> explain_run_ratings() { return kExplained; }

}  // namespace benchproof
