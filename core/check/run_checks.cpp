#include "core/check/run_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "core/check/limits.h"
#include "core/check/run_expectations.h"
#include "core/check/topology.h"
#include "core/check/usual.h"

namespace benchproof {
namespace {

/// Above this a voltage between nets is no longer extra-low, however short it is.
constexpr double kLowVolts = 60.0;

/// Shorter overloads of a controller's pin or of an LED than this heat nothing. Common
/// practice, no source.
constexpr double kMoment = 1e-3;  // second

/// Less ripple current than this any electrolytic capacitor bears. Common practice, no
/// source.
constexpr double kRippleAmps = 10e-3;

std::string for_time(double seconds) { return short_text(seconds, Unit::second); }

Finding about(const Part& part, Severity severity, std::string_view check) {
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
  std::string_view check;
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
  constexpr std::string_view kCheck = "run-brownout";
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
    Finding finding = about(chip, Severity::note, "run-ready");
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
    Finding finding = about(chip, Severity::note, "run-holdup");
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
    Finding finding =
        about(chip, seconds > kMoment ? Severity::fault : Severity::caution, "run-pin");
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
  Finding finding = about(supply, Severity::caution, "run-inrush");
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
        {"run-reverse", "voltage", "reverse", "reverse voltage limit",
         "put a diode the other way round across it, or use one that bears more"},
        findings);
  const std::string_view short_key = is_led ? "pulse" : "surge";
  const auto surge = figure(part, short_key);
  const auto lasting = figure(part, "current");
  const Extremes e = extremes(forward, input.seen.whole());
  if (surge && exceeds(e.highest, surge->value)) {
    watch(input, index, forward,
          {"run-surge", "current", short_key, is_led ? "pulse limit" : "surge limit",
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
    Finding finding = about(part, Severity::note, "run-surge");
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
  Finding finding = about(part, Severity::caution, "run-surge");
  set_limit(finding, "current", e.highest, *lasting);
  finding.message =
      fmt::format("{}, for {}; see whether it bears such pulses",
                  past_text(e.highest, *lasting, "continuous rating", part.name),
                  for_time(seconds));
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
        {"run-capacitor-voltage", "voltage", "rated", "rated voltage",
         "use one of a higher rating"},
        findings);
  const Extremes e = extremes(across, input.seen.whole());
  if (is_polarised && exceeds(-e.lowest, kCapacitorReverseVolts)) {
    Finding finding = about(part, Severity::fault, "run-capacitor-polarity");
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
  Finding finding = about(part, Severity::note, "run-ripple");
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
  finding.check = "run-voltage";
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
              {"run-supply", "voltage", "supply_max", "supply voltage limit",
               "damp or clamp its rail"},
              findings);
        check_pins(input, index, findings);
        break;
      case KindId::diode:
      case KindId::led:
        check_diode_run(input, index, findings);
        break;
      case KindId::capacitor:
        check_capacitor_run(input, index, findings);
        break;
      case KindId::transistor:
        watch(input, index, sized(input.seen.volts(part, 1, 2)),
              {"run-transistor-voltage", "voltage", "voltage",
               "collector-emitter limit", "clamp it with a diode"},
              findings);
        watch(input, index, sized(input.seen.amps(index, 1)),
              {"run-transistor-current", "current", "current", "current limit",
               "limit what it switches, or use a larger one"},
              findings);
        break;
      case KindId::mosfet:
        watch(input, index, sized(input.seen.volts(part, 1, 2)),
              {"run-transistor-voltage", "voltage", "voltage", "drain-source limit",
               "clamp it with a diode"},
              findings);
        watch(input, index, sized(input.seen.amps(index, 1)),
              {"run-transistor-current", "current", "current", "current limit",
               "limit what it switches, or use a larger one"},
              findings);
        watch(input, index, sized(input.seen.volts(part, 0, 2)),
              {"run-gate", "voltage", "gate", "gate-source limit",
               "clamp the gate with a zener"},
              findings);
        break;
      case KindId::regulator:
        watch(input, index, input.seen.volts(part, 0, 1),
              {"run-regulator-input", "voltage", "input_max", "input limit",
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

}  // namespace benchproof
