#include "core/check/time/run_ratings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <utility>

#include "core/catalogue/pins.h"
#include "core/check/rest/limits.h"
#include "core/check/time/run_overload.h"
#include "core/check/time/run_watch.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutRunRatings[] = {
    {"run-heat", "a part's heat during a run",
     "mean power over every stretch of time <= what it bears for so long: its lasting "
     "power ('power', or ('junction_max' - ambient) / 'thermal_resistance', whichever "
     "is less) times a factor. Resistors: 300 up to 1 us, 6.25 at 5 s, 1 from 30 s on; "
     "semiconductors: 100 up to 10 us, 10 at 10 ms, 1 from 10 s on; those in a case "
     "for "
     "a heat sink, without one: 3162 up to 10 us, 100 at 10 ms, 1 from 100 s on; "
     "diodes with a surge rating, for stretches of 1 s and more, as for run-current; "
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
     "<= the rating times a factor. Diodes without a surge rating, zeners, regulators, "
     "transistors with a pulse rating: 100 up to 10 us, 10 at 10 ms, 1 from 10 s "
     "on. Diodes and LEDs with a surge or pulse rating: stretches of 1 s and more, "
     "from what that rating leaves at 1 s (see run-surge) to the lasting one from 10 s "
     "on; LEDs without: 5 up to 0.1 ms, 1 from 10 s on (1.25 where the rating is "
     "typical of its class). Switches: 100 up to 10 us, 10 at 1 ms (the same I^2 t "
     "between), 1 from 1 s on; inductors: 10 up to 10 ms, 1 from 10 s on, and a "
     "caution where the peak is above the rating; wires: 6.7 at 1 s, 2 from 11 s on. "
     "Caution from half of that on",
     "the part's figures, named by 'benchproof parts TYPE'; the factors: wires by IEC "
     "60364-4-43 (memory), others common practice, no source (practice)",
     "what it heats takes a while to get hot",
     "limit the current, or use a larger one"},
    {"run-fuse", "whether a fuse opens during a run",
     "RMS current over every stretch of time: it opens for certain at 10 times 'rated' "
     "over 20 ms, 4 over 0.3 s, 2.75 over 2 s, 2.1 over 30 min; for shorter ones at "
     "the same I^2 t. Caution from 0.28 of that on (it holds for certain 4 times for "
     "10 ms), and above 1.5 times 'rated'",
     "IEC 60127-2 sheet 2, quick-acting (memory)",
     "an inrush can open a fuse that carries the lasting current easily",
     "a larger or a time-lag fuse, or less inrush: a resistor in series"},
    {"run-load-voltage", "a lamp's, motor's, coil's or buzzer's voltage during a run",
     "mean |V| (of relay coils and motors |I| times the winding's resistance: what "
     "they "
     "make themselves when switched off does them no harm) over every stretch of time "
     "<= "
     "'voltage' times: lamps 2 up to 10 ms, 1.3 "
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
     "V(cathode) - V(anode) <= 'reverse' at every moment; of an LED unless a diode in "
     "its row or across it guards it",
     "the part's figure 'reverse'; 'benchproof parts TYPE' names its source and mark",
     "it breaks down, however short it lasts",
     "put a diode the other way round across it, or use one that bears more"},
    {"run-surge", "a diode's or LED's current during a run, for less than a second",
     "Diodes: RMS current over every stretch of up to 1 s. 'surge' is that of one half "
     "sine of 'surge_time', whose I^2 t = surge^2 time / 2 holds for all that is "
     "shorter, up to 10 times 'surge'; a sixth of it RMS is borne for 1 s. Where it is "
     "that of a rectangle ('surge_shape'), twice as much for 1/1000 of a time from 1 "
     "ms on, four times below. Caution from 0.7 of that on, a note above 'current' for "
     "more than 1 ms. LEDs: highest current <= 'pulse'; what is above 'current' lasts "
     "no longer than 'pulse_time', and takes no more of the time than 'pulse_duty', "
     "from its begin to that of the next one at least pulse_time / pulse_duty later. "
     "Too long or too frequent is a caution up to 1.25 times, and beyond that below "
     "the straight line on logarithmic scales from the pulse rating to 'current' (1.25 "
     "times it where typical) at 10 s, or all of the time. Without such a rating a "
     "caution above 'current' for more than 1 ms",
     "the part's figures 'current', 'surge', 'surge_time', 'pulse', 'pulse_time', "
     "'pulse_duty'; 'benchproof parts TYPE' names their sources and marks. I^2 t: "
     "makers "
     "publish it from 1 ms on (memory), below it common practice, no source "
     "(practice); a sixth for 1 s: makers' curves over the number of cycles (memory); "
     "rectangles: sheets of small signal diodes, 4 A for 1 us, 1 A for 1 ms, 0.5 A for "
     "1 s (memory); all else common practice, no source (practice)",
     "a large capacitor behind a diode takes a great current when it is charged; an "
     "LED's pulse rating is for short pulses with long pauses",
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
     "V(common) - V(in) at most 0.3 V at every moment; left out where a diode lies "
     "from "
     "out to in and the common pin is not ground",
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

/// Tells one rating of a part in the words of the table. Whether there is a fault.
bool tell(const RunInput& input, int index, const Rating& rating,
          std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  const auto limit = limit_of(rating, part, input.circuit.ambient);
  if (!limit) return false;
  bool is_fault = false;
  for (const int pin : pins_of(rating.measure, part)) {
    Trace trace = trace_of(input, index, rating, pin);
    if (rating.run.endurance == nullptr) {
      std::string words(rating.run.words);
      if (rating.measure.pins != Pins::named)
        words += fmt::format(" at pin '{}'", part.pins[pin]);
      is_fault = watch(input, index, rating, {trace, *limit}, words, findings);
      continue;
    }
    // What flows the other way does not cool.
    if (rating.measure.what == Measured::amps)
      for (double& value : trace.values) value = std::max(value, 0.0);
    is_fault = hold_lasting(input, index, rating, {trace, *limit}, findings);
  }
  return is_fault;
}

// --- fuses

void check_fuse(const RunInput& input, int index, const Rating& rating,
                std::vector<Finding>& findings) {
  const std::size_t told = findings.size();
  const bool opens = tell(input, index, rating, findings);
  if (findings.size() == told) return;
  std::string& message = findings.back().message;
  const std::string name = "'" + input.parts[index].name + "'";
  message = fmt::format("{} {} if it is a quick-acting one: it{}", name,
                        opens ? "opens" : "may open", message.substr(name.size()));
}

// --- diodes and LEDs

void check_diode(const RunInput& input, int index, const Rating& lasting,
                 std::vector<Finding>& findings) {
  const Rating& brief =
      rating_in_run(input.parts[index].kind, CheckId(kAboutRunRatings, "run-surge"));
  check_forward(input, index, lasting, brief, findings);
}

/// An LED's voltage in reverse, unless a diode in its row or across it sees to it.
void check_led_reverse(const RunInput& input, int index, const Rating& rating,
                       std::vector<Finding>& findings) {
  if (is_antiparallel(input.circuit, index) || row_of_led(input.circuit, index).blocks)
    return;
  tell(input, index, rating, findings);
}

// --- regulators

constexpr int kGroundNet = 0;  // It stands first.

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

/// The diode that leads what stands at a regulator's output back to its input; null
/// where there is none.
const Part* guard_diode(const RunInput& input, const Part& regulator) {
  const bool is_positive = polarity(regulator) > 0.0;
  const int anode = regulator.nets[is_positive ? kOut : kIn];
  const int cathode = regulator.nets[is_positive ? kIn : kOut];
  for (const Part& part : input.parts)
    if (part.kind == KindId::diode && part.nets[0] == anode && part.nets[1] == cathode)
      return &part;
  return nullptr;
}

/// Behind a diode from out to in an adjustable one's input lies below its adjust pin by
/// what that diode keeps: that is the circuit of its sheets. One whose common is ground
/// has its input below ground then, which that diode does not prevent.
void check_reverse(const RunInput& input, int index, const Rating& rating,
                   std::vector<Finding>& findings) {
  const Part& part = input.parts[index];
  if (part.nets[kCommon] != kGroundNet && guard_diode(input, part) != nullptr) return;
  tell(input, index, rating, findings);
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
  Trace above = input.seen.volts(part, kOut, kIn);
  for (double& value : above.values) value *= polarity(part);
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
  Finding finding = about(part, is_over ? Severity::fault : Severity::caution,
                          CheckId(kAboutRunRatings, "run-back-feed"));
  set_limit(finding, "voltage", most,
            {is_over ? kBreaks : kConducts, Unit::volt, Mark::memory,
             "sheets of three-pin regulators, from memory", ""});
  const Part* guard = guard_diode(input, part);
  const std::string remedy =
      guard != nullptr
          ? fmt::format(
                "'{}' takes the better part of it, and keeps that much: a "
                "diode for more current keeps less",
                guard->name)
          : fmt::format("lead a diode between out and in, banded end at {}",
                        polarity(part) > 0.0 ? "in" : "out");
  finding.message = fmt::format(
      "from {} on the input of '{}' falls behind its output, by {} within {}: the {} "
      "there discharge backwards through it; {}",
      for_time(at), part.name, short_text(most, Unit::volt), for_time(kSoon),
      short_text(farads, Unit::farad), remedy);
  findings.push_back(std::move(finding));
}

void check_delivered(const RunInput& input, int index, const Rating& rating,
                     std::vector<Finding>& findings) {
  tell(input, index, rating, findings);
  check_back_feed(input, index, findings);
}

constexpr RunSpecial kOfFuse[] = {{CheckId(kAboutRunRatings, "run-fuse"), check_fuse}};
constexpr RunSpecial kOfDiode[] = {
    {CheckId(kAboutRunRatings, "run-current"), check_diode},
    {CheckId(kAboutRunRatings, "run-surge")}};  // Told with the lasting one.
constexpr RunSpecial kOfLed[] = {
    {CheckId(kAboutRunRatings, "run-current"), check_diode},
    {CheckId(kAboutRunRatings, "run-surge")},
    {CheckId(kAboutRunRatings, "run-reverse"), check_led_reverse}};
constexpr RunSpecial kOfRegulator[] = {
    {CheckId(kAboutRunRatings, "run-current"), check_delivered},
    {CheckId(kAboutRunRatings, "run-regulator-reverse"), check_reverse}};

/// The specials of a kind that are told here.
std::span<const RunSpecial> own_specials(KindId kind) {
  switch (kind) {
    case KindId::fuse:
      return kOfFuse;
    case KindId::diode:
      return kOfDiode;
    case KindId::led:
      return kOfLed;
    case KindId::regulator:
      return kOfRegulator;
    default:
      return {};
  }
}

/// The special of an id, or null.
const RunSpecial* special_of(std::span<const RunSpecial> specials,
                             std::string_view check) {
  const auto found =
      std::find_if(specials.begin(), specials.end(),
                   [check](const RunSpecial& s) { return s.check == check; });
  return found == specials.end() ? nullptr : &*found;
}

/// The last fault of a part that a stress of its own brings about, or empty.
std::string cause_of(const std::vector<Finding>& findings, const std::string& part,
                     Stress stress) {
  const auto cause =
      std::find_if(findings.rbegin(), findings.rend(), [&](const Finding& finding) {
        const Stress before = stress_in_run(finding.check);
        return finding.part == part && finding.severity == Severity::fault &&
               before != Stress::none && before < stress;
      });
  return cause == findings.rend() ? "" : cause->check;
}

}  // namespace

std::vector<const Rating*> run_ratings_of(const Part& part) {
  const auto all = ratings_of(part.kind);
  std::vector<const Rating*> ratings(all.begin(), all.end());
  std::erase_if(ratings, [&part](const Rating* rating) {
    const InRun& run = rating->run;
    return run.check.empty() || (!run.where.empty() && !figure(part, run.where)) ||
           (!run.where_not.empty() && figure(part, run.where_not));
  });
  std::stable_partition(ratings.begin(), ratings.end(),
                        [](const Rating* rating) { return rating->run.is_first; });
  return ratings;
}

void check_run_ratings(const RunInput& input, int index, std::vector<Finding>& findings,
                       std::span<const RunSpecial> specials) {
  const Part& part = input.parts[index];
  std::set<std::string_view> left_to_specials;
  for (const Rating* rating : run_ratings_of(part)) {
    const InRun& run = rating->run;
    const RunSpecial* special = special_of(own_specials(part.kind), run.check);
    if (special == nullptr) special = special_of(specials, run.check);
    if (special != nullptr) {
      const bool is_first = left_to_specials.insert(run.check).second;
      if (is_first && special->tell != nullptr)
        special->tell(input, index, *rating, findings);
      continue;
    }
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&](const Finding& finding) {
          return finding.part == part.name && finding.check == run.unless_told;
        });
    if (is_told) continue;
    const std::size_t before = findings.size();
    tell(input, index, *rating, findings);
    if (findings.size() > before)
      findings.back().follows = cause_of(findings, part.name, run.stress);
  }
}

std::span<const Explanation> explain_run_ratings() { return kAboutRunRatings; }

}  // namespace benchproof
