#include "core/check/run_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "core/check/limits.h"
#include "core/check/over_states.h"
#include "core/check/run_expectations.h"
#include "core/check/topology.h"
#include "core/check/usual.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"run-brownout", "dips of a chip's supply during a run",
     "V(vdd) - V(vss) >= 'brownout' from the first time on, until the supply is cut",
     "the part's figure 'brownout'; 'benchproof parts TYPE' names its source and mark",
     "the chip stops or starts anew at each dip",
     "hold its rail with a larger capacitor, or ease what makes the dip"},
    {"run-ready", "when a chip's supply is there",
     "the first time at which V(vdd) - V(vss) reaches 'brownout'",
     "the part's figure 'brownout'; 'benchproof parts TYPE' names its source and mark",
     "before it the chip's outputs are not driven", "nothing, if you can wait"},
    {"run-holdup", "how long a chip runs on after the supply is cut",
     "time from the cut until V(vdd) - V(vss) falls below 'brownout'",
     "the part's figure 'brownout'; 'benchproof parts TYPE' names its source and mark",
     "it tells whether a short break of the supply is bridged",
     "a larger capacitor on the rail bridges more"},
    {"run-supply", "a chip's supply voltage during a run",
     "V(vdd) - V(vss) <= 'supply_max' at every moment",
     "the part's figure 'supply_max'; 'benchproof parts TYPE' names its source and "
     "mark",
     "an absolute rating, however short it is passed", "damp or clamp its rail"},
    {"run-pin", "a pin's current during a run",
     "|I(pin)| <= 'pin_limit': caution up to 1 ms, fault beyond",
     "the part's figure 'pin_limit'; 'benchproof parts TYPE' names its source and "
     "mark; the 1 ms: common practice, no source (practice)",
     "what charges a capacitor straight from a pin overloads it",
     "put a resistor between the pin and what it charges"},
    {"run-inrush", "what a supply delivers for a moment",
     "the highest current out of plus <= 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "a real supply limits its current, so that voltages rise later than shown, or "
     "switches off",
     "less capacitance, or a resistor in series, eases it"},
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
    {"run-capacitor-voltage", "a capacitor's voltage during a run",
     "voltage at every moment <= 'rated'",
     "the part's figure 'rated'; 'benchproof parts TYPE' names its source and mark",
     "the dielectric breaks down", "use one of a higher voltage rating"},
    {"run-capacitor-polarity", "a polarised capacitor the wrong way round during a run",
     "V(minus) - V(plus) at most 1 V at every moment",
     "common practice, no source (practice)", "it heats, gases and can burst",
     "turn it round, or use one that is not polarised"},
    {"run-ripple", "ripple current of a capacitor",
     "RMS current over the last whole periods of PWM, against 'ripple'; without a "
     "rating told from 10 mA on",
     "the part's figure 'ripple'; 'benchproof parts TYPE' names its source and mark; "
     "the 10 mA: common practice, no source (practice)",
     "ripple current heats a capacitor from inside and dries it out",
     "use one with a higher ripple rating, or several in parallel"},
    {"run-flashes", "lights that flash during a run",
     "how often an LED's or lamp's current rises through half of its peak within any "
     "second, at most 3; what follows within 1/70 s is the same flash",
     "3 flashes in any one second: W3C, Understanding SC 2.3.1 (verified); 70 Hz: AZoM "
     "article 14729 on IEEE PAR1789 (verified)",
     "flashing light can bring on seizures in people with photosensitive epilepsy",
     "flash at most three times a second"},
    {"run-voltage", "the largest voltage between nets during a run",
     "at most 60 V at every moment",
     "60 V DC: IEC terms entry SELV (IEC 60335-1:2010, 3.4.2) (verified)",
     "a winding that is switched off drives its voltage up",
     "put a diode across it, banded end at the supply's side"},
    {"run-transistor-voltage", "a transistor's voltage during a run",
     "|Vce| or |Vds| <= 'voltage' at every moment",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark",
     "it breaks down, however short it lasts", "clamp it with a diode"},
    {"run-transistor-current", "a transistor's current during a run",
     "|Ic| or |Id| <= 'current' at every moment",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the bond wires and the crystal fail",
     "limit what it switches, or use a larger one"},
    {"run-gate", "a gate's voltage during a run", "|Vgs| <= 'gate' at every moment",
     "the part's figure 'gate'; 'benchproof parts TYPE' names its source and mark",
     "once the gate's oxide is pierced the part is dead",
     "clamp the gate with a zener"},
    {"run-regulator-input", "a regulator's input during a run",
     "V(in) - V(common) <= 'input_max' at every moment",
     "the part's figure 'input_max'; 'benchproof parts TYPE' names its source and mark",
     "above its rating a regulator breaks down",
     "clamp its input, or feed it from less"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// Above this a voltage between nets is no longer extra-low, however short it is.
constexpr double kLowVolts = 60.0;

/// Shorter overloads of a controller's pin or of an LED than this heat nothing. Common
/// practice, no source.
constexpr double kMoment = 1e-3;  // second

/// Less ripple current than this any electrolytic capacitor bears. Common practice, no
/// source.
constexpr double kRippleAmps = 10e-3;

std::string for_time(double seconds) { return short_text(seconds, Unit::second); }

Finding about(const Part& part, Severity severity, CheckId check) {
  Finding finding;
  finding.severity = severity;
  finding.check = check;
  finding.part = part.name;
  finding.span = part.span;
  return finding;
}

double total_length(const std::vector<Stretch>& stretches) {
  double seconds = 0.0;
  for (const Stretch& s : stretches) seconds += s.length();
  return seconds;
}

Trace sized(Trace trace) {
  for (double& value : trace.values) value = std::abs(value);
  return trace;
}

/// A trace's peak beyond a figure of the part, for however short a time.
struct Watched {
  CheckId check;
  std::string_view quantity;
  std::string_view key;
  std::string_view words;   ///< "reverse voltage limit"
  std::string_view advice;  ///< What to do.
};

void watch(const RunInput& input, int index, const Trace& trace, const Watched& w,
           std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto limit = figure(part, w.key);
  if (!limit) return;
  const Extremes e = extremes(trace, input.seen.whole());
  if (!exceeds(e.highest, limit->value)) return;
  const double seconds =
      total_length(beyond(trace, limit->value, true, input.seen.whole()));
  Finding finding = about(part, Severity::fault, w.check);
  set_limit(finding, w.quantity, e.highest, *limit);
  finding.message = fmt::format("{}, at {} for {}; {}",
                                past_text(e.highest, *limit, w.words, part.name),
                                for_time(e.highest_at), for_time(seconds), w.advice);
  findings.push_back(std::move(finding));
}

// --- controllers
// ----------------------------------------------------------------------

/// When the run's last step cuts every supply; nothing where it ends powered.
std::optional<double> cut_at(const Run& run) {
  const RunStep& last = run.steps.back();
  return last.state == kUnpowered ? std::optional(last.at) : std::nullopt;
}

void check_brownout(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& chip = input.parts[index];
  const auto least = figure(chip, "brownout");
  if (!least) return;
  const Trace volts = input.seen.volts(chip, kVdd, kVss);
  const Stretch whole = input.seen.whole();
  const std::vector<Stretch> good = beyond(volts, least->value, true, whole);
  const auto cut = cut_at(input.run);
  constexpr CheckId kCheck = id("run-brownout");
  if (good.empty()) {
    if (cut) return;
    const Extremes e = extremes(volts, whole);
    Finding finding = about(chip, Severity::fault, kCheck);
    set_limit(finding, "voltage", e.highest, *least);
    finding.bound = Bound::lower;
    finding.message = fmt::format(
        "'{}' never gets the {} that it needs to run: {} at most", chip.name,
        short_text(least->value, Unit::volt), short_text(e.highest, Unit::volt));
    findings.push_back(std::move(finding));
    return;
  }
  if (good.front().from > whole.from) {
    Finding finding = about(chip, Severity::note, id("run-ready"));
    finding.quantity = "time";
    finding.unit = Unit::second;
    finding.value = good.front().from;
    finding.source = source_of(*least);
    finding.mark = least->mark;
    finding.message =
        fmt::format("'{}' has the {} that it needs to run {} into the run", chip.name,
                    short_text(least->value, Unit::volt), for_time(good.front().from));
    findings.push_back(std::move(finding));
  }
  if (cut && good.back().to >= *cut) {
    Finding finding = about(chip, Severity::note, id("run-holdup"));
    finding.quantity = "time";
    finding.unit = Unit::second;
    finding.value = good.back().to - *cut;
    finding.source = source_of(*least);
    finding.mark = least->mark;
    finding.message =
        good.back().to < whole.to
            ? fmt::format("'{}' runs on for {} after the supply is cut", chip.name,
                          for_time(good.back().to - *cut))
            : fmt::format(
                  "'{}' still runs {} after the supply is cut, at the run's end",
                  chip.name, for_time(good.back().to - *cut));
    findings.push_back(std::move(finding));
  }
  // What lies between good stretches is a dip; so is the end, unless the supply is cut.
  const Stretch active{good.front().from, cut ? std::min(*cut, whole.to) : whole.to};
  const std::vector<Stretch> dips = beyond(volts, least->value, false, active);
  if (dips.empty()) return;
  const auto longest = std::max_element(
      dips.begin(), dips.end(),
      [](const Stretch& a, const Stretch& b) { return a.length() < b.length(); });
  const Extremes e = extremes(volts, *longest);
  Finding finding = about(chip, Severity::fault, kCheck);
  set_limit(finding, "voltage", e.lowest, *least);
  finding.bound = Bound::lower;
  const bool is_back = longest->to < active.to;
  finding.message = fmt::format(
      "'{}' falls below the {} that it needs to run {} into the run, {} {}, down to "
      "{}: "
      "it stops or starts anew; hold its rail with a larger capacitor",
      chip.name, short_text(least->value, Unit::volt), for_time(longest->from),
      is_back ? "for" : "and does not recover within", for_time(longest->length()),
      short_text(e.lowest, Unit::volt));
  findings.push_back(std::move(finding));
}

void check_pins(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& chip = input.parts[index];
  const auto limit = figure(chip, "pin_limit");
  if (!limit) return;
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    const Trace amps = sized(input.seen.amps(index, pin));
    const Extremes e = extremes(amps, input.seen.whole());
    if (!exceeds(e.highest, limit->value)) continue;
    const double seconds =
        total_length(beyond(amps, limit->value, true, input.seen.whole()));
    Finding finding = about(
        chip, seconds > kMoment ? Severity::fault : Severity::caution, id("run-pin"));
    set_limit(finding, "current", e.highest, *limit);
    finding.message = fmt::format(
        "{}, for {}; put a resistor between the pin and what it charges",
        past_text(e.highest, *limit, "pin limit", chip.name + "." + chip.pins[pin]),
        for_time(seconds));
    findings.push_back(std::move(finding));
  }
}

// --- supplies
// -------------------------------------------------------------------------

void check_inrush(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& supply = input.parts[index];
  const auto limit = figure(supply, "current");
  if (!limit) return;
  Trace amps = input.seen.amps(index, 0);
  for (double& value : amps.values) value = -value;
  const Extremes e = extremes(amps, input.seen.whole());
  if (!exceeds(e.highest, limit->value)) return;
  const double seconds =
      total_length(beyond(amps, limit->value, true, input.seen.whole()));
  Finding finding = about(supply, Severity::caution, id("run-inrush"));
  set_limit(finding, "current", e.highest, *limit);
  finding.message = fmt::format(
      "'{}' gives up to {} at {}, above its {} for {}: a real one limits the current "
      "and "
      "its voltage rises later, or it switches off; less capacitance, or a resistor in "
      "series, eases it",
      supply.name, short_text(e.highest, Unit::ampere), for_time(e.highest_at),
      short_text(limit->value, Unit::ampere), for_time(seconds));
  findings.push_back(std::move(finding));
}

// --- diodes and LEDs
// ------------------------------------------------------------------

void check_diode_run(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const Trace forward = input.seen.amps(index, 0);
  const bool is_led = part.kind == KindId::led;
  watch(input, index, input.seen.volts(part, 1, 0),
        {id("run-reverse"), "voltage", "reverse", "reverse voltage limit",
         "put a diode the other way round across it, or use one that bears more"},
        findings);
  const std::string_view short_key = is_led ? "pulse" : "surge";
  const auto surge = figure(part, short_key);
  const auto lasting = figure(part, "current");
  const Extremes e = extremes(forward, input.seen.whole());
  if (surge && exceeds(e.highest, surge->value)) {
    watch(
        input, index, forward,
        {id("run-surge"), "current", short_key, is_led ? "pulse limit" : "surge limit",
         is_led ? "raise its resistor"
                : "less capacitance behind it, or a resistor in series, eases it"},
        findings);
    return;
  }
  if (!lasting || !exceeds(e.highest, lasting->value)) return;
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

// --- lights
// ---------------------------------------------------------------------------

/// W3C, Understanding SC 2.3.1 (verified).
constexpr int kMostFlashes = 3;
constexpr double kFlashSeconds = 0.99;  // A hundredth for flanks of other slopes.
/// Flashes that follow each other faster than this fuse: 70 Hz, AZoM article 14729 on
/// IEEE PAR1789 (verified). So does a contact that bounces.
constexpr double kFuseSeconds = 1.0 / 70.0;

void check_flashes(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Trace amps = sized(input.seen.amps(index, 0));
  const Extremes e = extremes(amps, input.seen.whole());
  if (e.highest < kLitAmps) return;
  std::vector<double> flashes;
  double last = -HUGE_VAL;
  for (const double at : crossings(amps, 0.5 * e.highest, true)) {
    if (at - last > kFuseSeconds) flashes.push_back(at);
    last = at;
  }
  std::size_t most = 0;
  double most_from = 0.0;
  for (std::size_t k = 0; k < flashes.size(); ++k) {
    const auto end =
        std::upper_bound(flashes.begin(), flashes.end(), flashes[k] + kFlashSeconds);
    const std::size_t count = static_cast<std::size_t>(end - flashes.begin()) - k;
    if (count <= most) continue;
    most = count;
    most_from = flashes[k];
  }
  if (most <= kMostFlashes) return;
  const Part& light = input.parts[index];
  Finding finding = about(light, Severity::caution, id("run-flashes"));
  set_limit(finding, "flashes", static_cast<double>(most),
            {kMostFlashes, Unit::none, Mark::verified, "W3C, Understanding SC 2.3.1",
             "in any one second"});
  finding.message = fmt::format(
      "'{}' flashes {} times within a second from {} on; more than {} can bring on a "
      "seizure in people with photosensitive epilepsy",
      light.name, most, for_time(most_from), kMostFlashes);
  findings.push_back(std::move(finding));
}

// --- capacitors
// -----------------------------------------------------------------------

void check_capacitor_run(const RunInput& input, int index,
                         std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const bool is_polarised = flag(part, "polarised", false);
  const Trace across = input.seen.volts(part, 0, 1);
  watch(input, index, is_polarised ? across : sized(across),
        {id("run-capacitor-voltage"), "voltage", "rated", "rated voltage",
         "use one of a higher rating"},
        findings);
  const Extremes e = extremes(across, input.seen.whole());
  if (is_polarised && exceeds(-e.lowest, kCapacitorReverseVolts)) {
    Finding finding = about(part, Severity::fault, id("run-capacitor-polarity"));
    set_limit(finding, "voltage", -e.lowest,
              practice(kCapacitorReverseVolts, Unit::volt,
                       "reverse voltage of an aluminium electrolytic"));
    finding.message = fmt::format(
        "'{}' is polarised and stands {} the wrong way round at {}; it heats and can "
        "burst",
        part.name, short_text(-e.lowest, Unit::volt), for_time(e.lowest_at));
    findings.push_back(std::move(finding));
  }
  // Ripple is what is left when everything repeats: only where the run ends in PWM.
  const Stretch periods = figure_stretch(input.circuit, input.run, 0.0);
  if (periods.to - periods.from >= input.run.seconds * (1.0 - 1e-9)) return;
  const Extremes ripple = extremes(across, periods);
  const Extremes amps = extremes(input.seen.amps(index, 0), periods);
  const auto rated = figure(part, "ripple");
  if (!rated && amps.rms < kRippleAmps) return;
  Finding finding = about(part, Severity::note, id("run-ripple"));
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.value = amps.rms;
  finding.source = "the run's last whole PWM periods";
  if (rated && exceeds(amps.rms, rated->value)) {
    finding.severity = Severity::fault;
    set_limit(finding, "current", amps.rms, *rated);
  }
  finding.message = fmt::format(
      "'{}' evens out the PWM: {} of ripple remain, by {} RMS through it, {}",
      part.name, short_text(ripple.highest - ripple.lowest, Unit::volt),
      short_text(amps.rms, Unit::ampere),
      rated ? fmt::format("rated for {}", short_text(rated->value, Unit::ampere))
            : "which its sheet must allow");
  findings.push_back(std::move(finding));
}

// --- all nets
// -------------------------------------------------------------------------

/// A raw source is a textbook's: what it makes gets its caution at rest.
bool has_raw_source(const RunInput& input) {
  return std::any_of(input.parts.begin(), input.parts.end(), [](const Part& part) {
    return part.kind == KindId::voltage_source || part.kind == KindId::current_source;
  });
}

void check_low_voltage(const RunInput& input, std::vector<Finding>& findings) {
  if (has_raw_source(input)) return;
  std::vector<Trace> nets;
  for (std::size_t net = 0; net < input.circuit.nets.size(); ++net)
    nets.push_back(input.seen.volts(static_cast<int>(net)));
  double most = 0.0;
  double at = 0.0;
  std::size_t high = 0;
  std::size_t low = 0;
  for (std::size_t k = 0; k < input.seen.seconds().size(); ++k) {
    const auto by_volts = [k](const Trace& a, const Trace& b) {
      return a.values[k] < b.values[k];
    };
    const auto [least, greatest] =
        std::minmax_element(nets.begin(), nets.end(), by_volts);
    const double volts = greatest->values[k] - least->values[k];
    if (!(volts > most)) continue;
    most = volts;
    at = input.seen.seconds()[k];
    high = static_cast<std::size_t>(greatest - nets.begin());
    low = static_cast<std::size_t>(least - nets.begin());
  }
  if (!exceeds(most, kLowVolts)) return;
  const Net& net = input.circuit.nets[high == 0 ? low : high];
  Finding finding;
  finding.severity = Severity::fault;
  finding.check = id("run-voltage");
  finding.net = net.name;
  finding.span = net.span;
  finding.quantity = "voltage";
  finding.unit = Unit::volt;
  finding.value = most;
  finding.limit = kLowVolts;
  finding.source = "extra-low voltage, DC: the project's own limit";
  finding.message = fmt::format(
      "{} stand between '{}' and '{}' at {}: a winding that is switched off drives "
      "them; "
      "put a diode across it, cathode to the supply's side",
      short_text(most, Unit::volt), input.circuit.nets[high].name,
      input.circuit.nets[low].name, for_time(at));
  findings.push_back(std::move(finding));
}

}  // namespace

std::vector<Finding> check_run(const RunInput& input) {
  std::vector<Finding> findings;
  check_low_voltage(input, findings);
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const Part& part = input.parts[k];
    const int index = static_cast<int>(k);
    switch (part.kind) {
      case KindId::dc_supply:
      case KindId::battery:
        check_inrush(input, index, findings);
        break;
      case KindId::controller:
        check_brownout(input, index, findings);
        watch(input, index, input.seen.volts(part, kVdd, kVss),
              {id("run-supply"), "voltage", "supply_max", "supply voltage limit",
               "damp or clamp its rail"},
              findings);
        check_pins(input, index, findings);
        break;
      case KindId::led:
        check_flashes(input, index, findings);
        [[fallthrough]];
      case KindId::diode:
        check_diode_run(input, index, findings);
        break;
      case KindId::lamp:
        check_flashes(input, index, findings);
        break;
      case KindId::capacitor:
        check_capacitor_run(input, index, findings);
        break;
      case KindId::transistor:
        watch(input, index, sized(input.seen.volts(part, 1, 2)),
              {id("run-transistor-voltage"), "voltage", "voltage",
               "collector-emitter limit", "clamp it with a diode"},
              findings);
        watch(input, index, sized(input.seen.amps(index, 1)),
              {id("run-transistor-current"), "current", "current", "current limit",
               "limit what it switches, or use a larger one"},
              findings);
        break;
      case KindId::mosfet:
        watch(input, index, sized(input.seen.volts(part, 1, 2)),
              {id("run-transistor-voltage"), "voltage", "voltage", "drain-source limit",
               "clamp it with a diode"},
              findings);
        watch(input, index, sized(input.seen.amps(index, 1)),
              {id("run-transistor-current"), "current", "current", "current limit",
               "limit what it switches, or use a larger one"},
              findings);
        watch(input, index, sized(input.seen.volts(part, 0, 2)),
              {id("run-gate"), "voltage", "gate", "gate-source limit",
               "clamp the gate with a zener"},
              findings);
        break;
      case KindId::regulator:
        watch(input, index,
              polarity(part) > 0.0 ? input.seen.volts(part, 0, 1)
                                   : input.seen.volts(part, 1, 0),
              {id("run-regulator-input"), "voltage", "input_max", "input limit",
               "clamp its input, or feed it from less"},
              findings);
        break;
      default:
        break;
    }
  }
  sort_by_severity(findings);
  return findings;
}

std::span<const Explanation> explain_run() { return kExplained; }

}  // namespace benchproof
