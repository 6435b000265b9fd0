#include "core/check/time/run_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "core/check/expect/run_expectations.h"
#include "core/check/rest/joints.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/check/time/run_ratings.h"
#include "core/check/time/run_supply.h"
#include "core/check/time/run_watch.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutRun[] = {
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
    {"run-reversed", "a chip's supply the wrong way round during a run",
     "V(vss) - V(vdd) at most 0.3 V at every moment",
     "common practice, no source (practice)",
     "the chip's own diodes then short the supply, and it is destroyed",
     "look at what pulls its rail below its common"},
    {"run-clamp", "current through a pin's clamp diodes during a run",
     "current into a pin above vdd, or out of one below vss, <= 'clamp_limit' at every "
     "moment",
     "the part's figure 'clamp_limit'; 'benchproof parts TYPE' names its source and "
     "mark",
     "more than that can make the chip latch up, however short it lasts",
     "put a resistor between the pin and what drives it: a charged capacitor, say"},
    {"run-total", "what all outputs together carry during a run",
     "the sum of the currents sourced, or of those sunk, <= 'total_limit': caution up "
     "to 1 ms, fault beyond",
     "the part's figure 'total_limit'; 'benchproof parts TYPE' names its source and "
     "mark; the 1 ms: common practice, no source (practice)",
     "the chip's supply wires inside are made for no more",
     "let transistors switch some of its loads"},
    {"run-capacitor-voltage", "a capacitor's voltage during a run",
     "voltage at every moment <= 'rated'",
     "the part's figure 'rated'; 'benchproof parts TYPE' names its source and mark",
     "the dielectric breaks down", "use one of a higher voltage rating"},
    {"run-capacitor-polarity", "a polarised capacitor the wrong way round during a run",
     "V(minus) - V(plus) at most 1 V at every moment; not asked of two back to back",
     "common practice, no source (practice)", "it heats, gases and can burst",
     "turn it round, or use one that is not polarised"},
    {"run-ripple", "ripple current of a capacitor",
     "RMS current over the last whole periods of PWM, against 'ripple'; without a "
     "rating told from 10 mA on",
     "the part's figure 'ripple'; 'benchproof parts TYPE' names its source and mark; "
     "the 10 mA: common practice, no source (practice)",
     "ripple current heats a capacitor from inside and dries it out",
     "use one with a higher ripple rating, or several in parallel"},
    {"run-start", "a capacitor that leakage alone has charged when a run begins",
     "more than 10 mV across a capacitor at the start, with a net that no part joins "
     "to "
     "the rest but by leakage",
     "common practice, no source (practice)",
     "a state at rest has lasted for ever, so that an open switch charges what lies "
     "behind it; on the bench it may as well be empty",
     "begin the run with 'unpowered' or 'initial', or put a large resistor across the "
     "capacitor"},
    {"run-flashes", "lights that flash during a run",
     "how often an LED's or lamp's current rises through half of its peak within any "
     "second, at most 3; what follows within 1/70 s is the same flash",
     "3 flashes in any one second: W3C, Understanding SC 2.3.1 (verified); 70 Hz: AZoM "
     "article 14729 on IEEE PAR1789 (verified)",
     "flashing light can bring on seizures in people with photosensitive epilepsy",
     "flash at most three times a second"},
    {"run-voltage", "the largest voltage between nets during a run",
     "at most 60 V at every moment; a caution only where raw sources are that high "
     "themselves, or above 300 V across a switch, whose contact sparks",
     "60 V DC: IEC terms entry SELV (IEC 60335-1:2010, 3.4.2) (verified); 300 V: "
     "Paschen's law, 327 V at least in air (memory)",
     "a winding that is switched off drives its voltage up",
     "put a diode across it, banded end at the supply's side"},
};

/// Above this a voltage between nets is no longer extra-low, however short it is.
constexpr double kLowVolts = 60.0;

/// Less ripple current than this any electrolytic capacitor bears. Common practice, no
/// source.
constexpr double kRippleAmps = 10e-3;

// --- controllers
// ----------------------------------------------------------------------

/// When the run's last step cuts every supply; nothing where it ends powered.
std::optional<double> cut_at(const Run& run) {
  const RunStep& last = run.steps.back();
  return last.state == kUnpowered ? std::optional(last.at) : std::nullopt;
}

/// How a chip is supplied in a run.
struct Supplied {
  const Part& chip;
  Figure least;               ///< What it needs to run. Volt.
  Trace volts;                ///< Between its supply pins.
  std::vector<Stretch> good;  ///< With as much as it needs.
  /// When it is cut off for good, if it is: with every supply, or by a switch.
  std::optional<double> cut;
};

/// A note on when something happens to a chip's supply.
Finding timed_note(const Supplied& supplied, CheckId check, double seconds,
                   std::string message) {
  Finding finding = about(supplied.chip, Severity::note, check);
  finding.quantity = "time";
  finding.unit = Unit::second;
  finding.value = seconds;
  finding.source = source_of(supplied.least);
  finding.mark = supplied.least.mark;
  finding.message = std::move(message);
  return finding;
}

/// The fault that a chip's supply is too low, without its message.
Finding brownout(const Supplied& supplied, double volts) {
  Finding finding =
      about(supplied.chip, Severity::fault, CheckId(kAboutRun, "run-brownout"));
  set_limit(finding, "voltage", volts, supplied.least);
  finding.bound = Bound::lower;
  return finding;
}

void tell_never_supplied(const Supplied& supplied, const Stretch& whole,
                         std::vector<Finding>& findings) {
  if (supplied.cut) return;
  const double most = extremes(supplied.volts, whole).highest;
  Finding finding = brownout(supplied, most);
  finding.message = fmt::format(
      "'{}' never gets the {} that it needs to run: {} at most", supplied.chip.name,
      short_text(supplied.least.value, Unit::volt), short_text(most, Unit::volt));
  findings.push_back(std::move(finding));
}

/// When it begins to run, where that is not at once.
void tell_ready(const Supplied& supplied, const Stretch& whole,
                std::vector<Finding>& findings) {
  const double from = supplied.good.front().from;
  if (!(from > whole.from)) return;
  findings.push_back(timed_note(
      supplied, CheckId(kAboutRun, "run-ready"), from,
      fmt::format("'{}' has the {} that it needs to run {} into the run",
                  supplied.chip.name, short_text(supplied.least.value, Unit::volt),
                  for_time(from))));
}

/// How long it runs on after it is cut off.
void tell_hold_up(const Supplied& supplied, const Stretch& whole,
                  std::vector<Finding>& findings) {
  const double to = supplied.good.back().to;
  if (!supplied.cut || to < *supplied.cut) return;
  const std::string time = for_time(to - *supplied.cut);
  findings.push_back(timed_note(
      supplied, CheckId(kAboutRun, "run-holdup"), to - *supplied.cut,
      to < whole.to
          ? fmt::format("'{}' runs on for {} after the supply is cut",
                        supplied.chip.name, time)
          : fmt::format("'{}' still runs {} after the supply is cut, at the run's end",
                        supplied.chip.name, time)));
}

/// What lies between good stretches is a dip; so is the end, unless the supply is cut.
void tell_dip(const Supplied& supplied, const Stretch& whole,
              std::vector<Finding>& findings) {
  const Stretch active{supplied.good.front().from,
                       supplied.cut ? std::min(*supplied.cut, whole.to) : whole.to};
  const double least = supplied.least.value;
  std::vector<Stretch> dips = beyond(supplied.volts, least, false, active);
  // The moment where it crosses the level is rounded: a sliver there is none.
  std::erase_if(dips, [&](const Stretch& dip) {
    return !exceeds(least, extremes(supplied.volts, dip).lowest);
  });
  if (dips.empty()) return;
  const auto longest = std::max_element(
      dips.begin(), dips.end(),
      [](const Stretch& a, const Stretch& b) { return a.length() < b.length(); });
  const double lowest = extremes(supplied.volts, *longest).lowest;
  Finding finding = brownout(supplied, lowest);
  finding.message = fmt::format(
      "'{}' falls below the {} that it needs to run {} into the run, {} {}, down to "
      "{}: it stops or starts anew; hold its rail with a larger capacitor",
      supplied.chip.name, short_text(least, Unit::volt), for_time(longest->from),
      longest->to < active.to ? "for" : "and does not recover within",
      for_time(longest->length()), short_text(lowest, Unit::volt));
  findings.push_back(std::move(finding));
}

void check_brownout(const RunInput& input, int index, const Rating& rating,
                    std::vector<Finding>& findings) {
  const Part& chip = input.parts[index];
  const auto least = limit_of(rating, chip, input.circuit.ambient);
  if (!least) return;
  const Stretch whole = input.seen.whole();
  Supplied supplied{chip,
                    *least,
                    trace_of(input, index, rating, rating.measure.pin),
                    {},
                    cut_at(input.run)};
  supplied.good = beyond(supplied.volts, least->value, true, whole);
  if (!supplied.cut && supplied.volts.values.back() < kControllerOffVolts)
    supplied.cut = input.run.steps.back().at;
  if (supplied.good.empty()) return tell_never_supplied(supplied, whole, findings);
  tell_ready(supplied, whole, findings);
  tell_hold_up(supplied, whole, findings);
  tell_dip(supplied, whole, findings);
}

void check_pins(const RunInput& input, int index, const Rating& rating,
                std::vector<Finding>& findings) {
  const Part& chip = input.parts[index];
  const auto limit = limit_of(rating, chip, input.circuit.ambient);
  if (!limit) return;
  for (const int pin : pins_of(rating.measure, chip)) {
    const Trace amps = trace_of(input, index, rating, pin);
    const Extremes e = extremes(amps, input.seen.whole());
    if (!exceeds(e.highest, limit->value)) continue;
    const double seconds =
        total_length(beyond(amps, limit->value, true, input.seen.whole()));
    const bool is_fault = seconds > rating.run.moment;
    Finding finding =
        about_run_rating(chip, rating, is_fault ? Severity::fault : Severity::caution,
                         e.highest, *limit);
    finding.message = fmt::format("{}, for {}; {}",
                                  past_text(e.highest, *limit, rating.run.words,
                                            chip.name + "." + chip.pins[pin]),
                                  for_time(seconds), rating.run.advice);
    findings.push_back(std::move(finding));
  }
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
  Finding finding = about(light, Severity::caution, CheckId(kAboutRun, "run-flashes"));
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

void check_polarity(const RunInput& input, int index, const Rating& rating,
                    std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto limit = limit_of(rating, part, input.circuit.ambient);
  if (!limit || is_back_to_back(input.circuit, part)) return;
  const Extremes e =
      extremes(trace_of(input, index, rating, rating.measure.pin), input.seen.whole());
  if (!exceeds(e.highest, limit->value)) return;
  Finding finding = about_run_rating(part, rating, Severity::fault, e.highest, *limit);
  finding.message = fmt::format(
      "'{}' is polarised and stands {} the wrong way round at {}; it heats and can "
      "burst",
      part.name, short_text(e.highest, Unit::volt), for_time(e.highest_at));
  findings.push_back(std::move(finding));
}

void check_ripple(const RunInput& input, int index, std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  // Ripple is what is left when everything repeats: only where the run ends in PWM, and
  // there in its last period.
  const auto period = last_period(input.circuit, input.run);
  if (!period) return;
  const Extremes ripple = extremes(input.seen.volts(part, 0, 1), *period);
  const Extremes amps = extremes(input.seen.amps(index, 0), *period);
  const auto rated = figure(part, "ripple");
  if (!rated && amps.rms < kRippleAmps) return;
  Finding finding = about(part, Severity::note, CheckId(kAboutRun, "run-ripple"));
  finding.quantity = "current";
  finding.unit = Unit::ampere;
  finding.value = amps.rms;
  finding.source = "the run's last PWM period";
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

/// Capacitors that stand charged at the start only because the state there has leaked
/// for ever.
void check_start(const RunInput& input, std::vector<Finding>& findings) {
  constexpr double kEmpty = 10e-3;  // volt
  if (input.run.from < 0) return;
  const State& state = input.circuit.states[input.run.from];
  const std::vector<Part> parts = parts_in(input.circuit, state);
  const std::vector<Phase> all = phases(input.circuit, state);
  const auto phase =
      std::find_if(all.begin(), all.end(), [](const Phase& p) { return p.all_on; });
  if (phase == all.end()) return;
  Observation seen;
  for (std::size_t net = 0; net < input.circuit.nets.size(); ++net)
    seen.net_volts.push_back(input.seen.volts(static_cast<int>(net)).values.front());
  for (std::size_t k = 0; k < parts.size(); ++k) {
    seen.pin_amps.emplace_back();
    for (std::size_t pin = 0; pin < parts[k].pins.size(); ++pin) {
      const Trace amps = input.seen.amps(static_cast<int>(k), static_cast<int>(pin));
      seen.pin_amps.back().push_back(amps.values.front());
    }
  }
  const SeenPhase at{*phase, seen};
  const CheckInput rest{input.circuit, state, parts, {at}, seen};
  Joints joints = joints_of(rest, at, {.junctions_hold = true});
  for (const Part& part : parts) {
    if (part.kind != KindId::capacitor || part.nets[0] < 0 || part.nets[1] < 0)
      continue;
    const double volts = seen.net_volts[part.nets[0]] - seen.net_volts[part.nets[1]];
    const bool is_held =
        joints.are_joined(part.nets[0], 0) && joints.are_joined(part.nets[1], 0);
    if (is_held || std::abs(volts) <= kEmpty) continue;
    Finding finding = about(part, Severity::caution, CheckId(kAboutRun, "run-start"));
    set_limit(finding, "voltage", std::abs(volts),
              practice(kEmpty, Unit::volt, "what only leaks counts as empty"));
    finding.message = fmt::format(
        "at the start '{}' stands at {}, which leakage alone has brought there while "
        "'{}' lasted for ever; a real one may be empty: begin with 'unpowered' or "
        "'initial', or put a large resistor across it",
        part.name, short_text(volts, Unit::volt), state.name);
    findings.push_back(std::move(finding));
  }
}

// --- all nets
// -------------------------------------------------------------------------

/// What a circuit's raw sources explain in a run: the sum of the highest voltages of
/// its raw voltage sources; anything where there is a raw current source.
/// These are a textbook's, not a bench's.
double explained_volts(const RunInput& input) {
  double sum = 0.0;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    if (input.parts[k].kind == KindId::current_source) return HUGE_VAL;
    if (input.parts[k].kind != KindId::voltage_source) continue;
    const Extremes e =
        extremes(sized(input.seen.volts(input.parts[k], 0, 1)), input.seen.whole());
    sum += e.highest;
  }
  return sum;
}

/// The switch whose contact sparks over as it opens, which ends a coil's voltage at
/// some hundred volts; null where none does. 300 V: below what air breaks down at over
/// any gap (Paschen's law, 327 V; from memory).
const Part* sparking_contact(const RunInput& input) {
  constexpr double kSparks = 300.0;
  for (const Part& part : input.parts) {
    if (part.kind != KindId::switch_) continue;
    const Extremes e = extremes(input.seen.volts(part, 0, 1), input.seen.whole());
    if (std::max(e.highest, -e.lowest) > kSparks) return &part;
  }
  return nullptr;
}

void check_low_voltage(const RunInput& input, std::vector<Finding>& findings) {
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
  const bool is_explained = !exceeds(most, explained_volts(input));
  const Part* contact = sparking_contact(input);
  finding.severity =
      is_explained || contact != nullptr ? Severity::caution : Severity::fault;
  finding.check = CheckId(kAboutRun, "run-voltage");
  finding.net = net.name;
  finding.span = net.span;
  finding.quantity = "voltage";
  finding.unit = Unit::volt;
  finding.value = most;
  finding.limit = kLowVolts;
  finding.source = "IEC terms entry SELV (IEC 60335-1:2010, 3.4.2) (DC)";
  finding.mark = Mark::verified;
  if (contact != nullptr) {
    finding.message = fmt::format(
        "the contact of '{}' sparks when it opens: what it switches off drives its "
        "current on, at some hundred volts for a moment; put a diode across the coil, "
        "cathode to the supply's side",
        contact->name);
    return findings.push_back(std::move(finding));
  }
  finding.message = fmt::format(
      "{} stand between '{}' and '{}' at {}, more than {} DC: {}",
      short_text(most, Unit::volt), input.circuit.nets[high].name,
      input.circuit.nets[low].name, for_time(at), short_text(kLowVolts, Unit::volt),
      is_explained ? "leave such a circuit on paper"
                   : "a winding that is switched off drives them; put a diode across "
                     "it, cathode to the supply's side");
  findings.push_back(std::move(finding));
}

constexpr RunSpecial kSpecials[] = {
    {CheckId(kAboutRun, "run-brownout"), check_brownout},
    {CheckId(kAboutRun, "run-pin"), check_pins},
    {CheckId(kInrush), check_delivery},
    {CheckId(kAboutRun, "run-capacitor-polarity"), check_polarity}};

/// The ratings of a part, and what only time shows of its kind.
void check_part(const RunInput& input, int index, std::vector<Finding>& findings) {
  const KindId kind = input.parts[index].kind;
  if (kind == KindId::led || kind == KindId::lamp)
    check_flashes(input, index, findings);
  check_run_ratings(input, index, findings, kSpecials);
  if (kind == KindId::capacitor) check_ripple(input, index, findings);
}

}  // namespace

std::vector<Finding> check_run(const RunInput& input) {
  std::vector<Finding> findings;
  check_low_voltage(input, findings);
  check_start(input, findings);
  for (std::size_t k = 0; k < input.parts.size(); ++k)
    check_part(input, static_cast<int>(k), findings);
  sort_by_severity(findings);
  return findings;
}

std::span<const Explanation> explain_run() { return kAboutRun; }

}  // namespace benchproof
