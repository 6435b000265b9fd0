#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/catalogue/pins.h"
#include "core/check/rest/joints.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutRegulator[] = {
    {"regulator-open", "a common or adjust pin that is left open",
     "pin 'common' (or 'adjust') stands on no net",
     "common practice, no source (practice)",
     "without a reference nothing sets the output, which can rise to the input",
     "join common to ground, or adjust to the two resistors that set the output"},
    {"regulator-swapped", "in and out exchanged",
     "out lies above in, and above the set voltage with its tolerance by more than 2 %",
     "the part's figures 'output' and 'tolerance'; 'benchproof parts TYPE' names their "
     "sources and marks; the 2 %: common practice, no source (practice)",
     "what is held from its output does not regulate, and most types break",
     "exchange the two wires"},
    {"regulator-limit", "a regulator at its current limit",
     "current out of pin 'out' >= 'limit'",
     "the part's figure 'limit'; 'benchproof parts TYPE' names its source and mark",
     "it then lets its output fall instead of delivering more, and heats",
     "draw less, or use one for more current"},
    {"regulator-dropout", "room between input and output",
     "V(in) - V(common) >= output + dropout",
     "the part's figures 'output' and 'dropout'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "with less the output follows the input down, with all of its ripple",
     "raise the input, or use a type of lower dropout"},
    {"regulator-output", "the output, against its tolerance",
     "V(out) - V(common) >= output (1 - tolerance)",
     "the part's figures 'output' and 'tolerance'; 'benchproof parts TYPE' names their "
     "sources and marks",
     "what hangs on it gets less than the type promises", "draw less from it"},
    {"regulator-input", "the voltage at its input",
     "V(in) - V(common) <= input_max; where the sheet limits the difference instead, "
     "V(in) - V(out) <= difference_max",
     "the part's figures 'input_max' and 'difference_max'; 'benchproof parts TYPE' "
     "names their sources and marks",
     "above its rating a regulator breaks down and can pass its input on to all that "
     "it feeds",
     "lower the supply, or put a regulator or zener before it"},
    {"regulator-reverse", "an input that lies below the common pin",
     "V(common) - V(in), while something outside holds it there, at most 0.3 V",
     "common practice, no source (practice)",
     "the supply is the wrong way round: what lies in the chip is destroyed",
     "turn the supply round and guard the input with a diode in series"},
    {"regulator-back-feed", "an output held above the input",
     "V(out) - V(in), while something outside holds it there, at most 0.3 V",
     "common practice, no source (practice)",
     "current flows backwards through the pass element, which few types stand",
     "lead a diode from out to in, banded end at in"},
    {"regulator-load", "the least load that an adjustable regulator needs",
     "current out of pin 'out' >= 'load_min'",
     "the part's figure 'load_min'; 'benchproof parts TYPE' names its source and mark",
     "with less its own supply current lifts the output",
     "lower the resistors at its adjust pin: 120 ohm from out to adjust draw 10 mA"},
    {"regulator-current", "the current it delivers",
     "highest current of any phase out of pin 'out' <= 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "beyond it neither the output nor the life of the part is promised",
     "draw less, or use one for more current"},
    {"regulator-power", "its heat, against a power rating",
     "P = (V(in) - V(out)) I(out) + (V(in) - V(common)) I(common) <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than its case gives off", "lower its input voltage or its load"},
    {"regulator-junction", "the temperature of the chip inside",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'; with a heat sink Tj = "
     "ambient + P ('thermal_resistance_case' + 'heatsink')",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "above it the part shuts down or fails",
     "lower its input or its load, or give it a heat sink: 'heatsink' takes its K/W"},
    {"regulator-pushed", "an output that something else holds up",
     "V(out) - V(common) <= 1.1 'output', where the regulator delivers less than 1 mA",
     "the part's figure 'output'; 'benchproof parts TYPE' names its source and mark; "
     "the "
     "tenth: common practice, no source (practice)",
     "the rail has the other source's voltage, and the regulator cannot lower it",
     "join one supply only to a rail, or part them by diodes"},
};

/// Voltage from one pin to another, for a negative regulator the other way round: above
/// zero where all is well.
double rail_volts(const CheckInput& input, const Observation& seen, int index, int pin,
                  int other) {
  return polarity(input.parts[index]) * volts_between(input, seen, index, pin, other);
}

/// The current that it gives its load; a negative regulator takes it in at out.
double delivered_amps(const CheckInput& input, const Observation& seen, int index) {
  return -polarity(input.parts[index]) * pin_amps(seen, index, kOut);
}

/// How near to its limit the model of core/device/ already bends.
constexpr double kBendShare = 1e-4;

/// A regulator's rails in one phase.
struct Rails {
  double in = 0.0;    ///< Against common. Volt.
  double out = 0.0;   ///< Against common. Volt.
  double amps = 0.0;  ///< Delivered at out.
  std::string phase;
};

Rails rails(const CheckInput& input, const SeenPhase& phase, int index) {
  const double sign = polarity(input.parts[index]);
  return {sign * volts_between(input, phase.seen, index, kIn, kCommon),
          sign * volts_between(input, phase.seen, index, kOut, kCommon),
          -sign * pin_amps(phase.seen, index, kOut), phase.phase.name};
}

/// Room above the tolerance before an output counts as held by something else. Common
/// practice, no source.
constexpr double kSwappedShare = 0.02;

/// Whether the description's regulator is one that an adjust pin sets.
bool is_adjustable(const Part& part) { return part.pins[kCommon] == "adjust"; }

/// The common or adjust pin left open: nothing then sets the output.
std::optional<Finding> check_open(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  if (part.nets[kCommon] >= 0 || part.nets[kIn] < 0 || part.nets[kOut] < 0)
    return std::nullopt;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutRegulator, "regulator-open"));
  finding.quantity = "voltage";
  finding.unit = Unit::volt;
  finding.source = source_of(practice(0.0, Unit::volt, "a regulator has a reference"));
  finding.message = fmt::format(
      "'{}.{}' is left open: nothing sets the output of '{}', which can rise to its "
      "input; join it to {}",
      part.name, part.pins[kCommon], part.name,
      is_adjustable(part) ? "the resistors that set it" : "ground");
  return finding;
}

/// An output above what the regulator could ever give, while its input is lower: the
/// supply is at the output.
std::optional<Finding> check_swapped(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto set = number_of(part, "output");
  if (!set || part.nets[kIn] < 0 || part.nets[kOut] < 0 || part.nets[kCommon] < 0)
    return std::nullopt;
  const double tolerance = number_of(part, "tolerance").value_or(0.0);
  const double above = *set * (1.0 + tolerance + kSwappedShare);
  const Peak held = highest(input, [&](const Observation& seen) {
    const bool is_lower = rail_volts(input, seen, index, kOut, kIn) > 0.0;
    return is_lower ? rail_volts(input, seen, index, kOut, kCommon) : 0.0;
  });
  if (!exceeds(held.value, above)) return std::nullopt;
  Figure most = *figure(part, "output");
  most.value = above;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutRegulator, "regulator-swapped"));
  set_limit(finding, "voltage", held.value, most);
  finding.phase = held.phase;
  finding.message = fmt::format(
      "'{}' looks wired the wrong way round: its output is held at {}, above its {} "
      "and above its input; are in and out swapped",
      part.name, short_text(held.value, Unit::volt), short_text(*set, Unit::volt));
  return finding;
}

/// At its current limit its output falls.
std::optional<Finding> check_limit(const CheckInput& input, int index, const Rails& at,
                                   double set) {
  const Part& part = input.parts[index];
  const auto most = number_of(part, "limit");
  if (!most || at.amps <= *most * (1 - kBendShare)) return std::nullopt;
  const auto limit = figure(part, "limit");
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutRegulator, "regulator-limit"));
  set_limit(finding, "current", at.amps, *limit);
  finding.phase = at.phase;
  finding.message = fmt::format(
      "'{}' is at its current limit of {}: its output falls to {} instead of {}",
      part.name, short_text(limit->value, Unit::ampere), short_text(at.out, Unit::volt),
      short_text(set, Unit::volt));
  return finding;
}

std::optional<Finding> check_room(const CheckInput& input, int index, const Rails& at,
                                  double set, const Rating& rating) {
  const Part& part = input.parts[index];
  const auto needed = limit_number_of(rating, part, input.circuit.ambient);
  if (!needed || !exceeds(*needed, at.in)) return std::nullopt;
  const auto least = limit_of(rating, part, input.circuit.ambient);
  Finding finding =
      about_rating(input, index, rating, {{at.in, at.phase}, *least, Severity::fault});
  const auto [is, must] = two_texts(at.in, least->value, Unit::volt);
  const auto [gives, wanted] = two_texts(at.out, set, Unit::volt);
  const std::string room = short_text(figure(part, "dropout")->value, Unit::volt);
  // What an adjustable one is given and gives is told from its adjust pin, which is
  // not what a meter shows against ground.
  finding.message =
      is_adjustable(part)
          ? fmt::format(
                "'{}' is out of regulation: {} from its adjust pin to its input leave "
                "no room for its dropout of {}, so that its output lies {} above that "
                "pin instead of {}; its input must lie at least {} above what it is to "
                "give",
                part.name, is, room, gives, wanted, room)
          : fmt::format(
                "'{}' is out of regulation: {} in leaves no room for its dropout of "
                "{}, so that it gives {} instead of {}; its input must be at least {}",
                part.name, is, room, gives, wanted, must);
  return finding;
}

std::optional<Finding> check_tolerance(const CheckInput& input, int index,
                                       const Rails& at, double set) {
  const Part& part = input.parts[index];
  const auto tolerance = number_of(part, "tolerance");
  if (!tolerance || at.out >= set * (1 - *tolerance) * (1 - kLimitShare))
    return std::nullopt;
  Figure lowest = *figure(part, "tolerance");
  lowest.value = set * (1 - *tolerance);
  lowest.unit = Unit::volt;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutRegulator, "regulator-output"));
  set_limit(finding, "voltage", at.out, lowest);
  finding.bound = Bound::lower;
  finding.phase = at.phase;
  finding.message = fmt::format(
      "'{}' gives {}, below the {} of its tolerance; draw less from it", part.name,
      short_text(at.out, Unit::volt), short_text(lowest.value, Unit::volt));
  return finding;
}

/// Why it does not regulate, in the first phase in which it does not.
std::optional<Finding> check_regulation(const CheckInput& input, int index,
                                        const Rating& rating) {
  const auto set = number_of(input.parts[index], "output");
  if (!set) return std::nullopt;
  for (const SeenPhase& phase : input.phases) {
    const Rails at = rails(input, phase, index);
    if (!rating.is_on(input.parts[index], at.in)) continue;
    auto finding = check_limit(input, index, at, *set);
    if (!finding) finding = check_room(input, index, at, *set, rating);
    if (!finding) finding = check_tolerance(input, index, at, *set);
    if (finding) return finding;
  }
  return std::nullopt;
}

/// The highest voltage from one pin to another over the phases in which something other
/// than leakage and the regulator itself holds the input: only that can do harm.
Peak highest_when_fed(const CheckInput& input, int index, int pin, int other) {
  Peak peak;
  const int net = input.parts[index].nets[kIn];
  for (const SeenPhase& phase : input.phases) {
    const double volts = rail_volts(input, phase.seen, index, pin, other);
    if (net < 0 || volts <= peak.value) continue;
    Joints joints = joints_of(input, phase, {.junctions_hold = false, .except = index});
    if (joints.are_joined(net, 0)) peak = {volts, phase.phase.name};
  }
  return peak;
}

std::optional<Finding> check_reverse(const CheckInput& input, int index,
                                     const Rating& rating) {
  const Part& part = input.parts[index];
  const Peak reverse = highest_when_fed(input, index, kCommon, kIn);
  if (!(reverse.value > 0.0)) return std::nullopt;
  const Figure limit = *limit_of(rating, part, input.circuit.ambient);
  if (!exceeds(reverse.value, limit.value)) return std::nullopt;
  Finding finding =
      about_rating(input, index, rating, {reverse, limit, Severity::fault});
  finding.message = fmt::format(
      "the input of '{}' lies {} {} its common pin, which destroys it; guard it with a "
      "diode",
      part.name, short_text(reverse.value, Unit::volt),
      polarity(part) > 0.0 ? "below" : "above");
  return finding;
}

/// An output held up from outside while the input is lower: few regulators stand it.
std::optional<Finding> check_back_feed(const CheckInput& input, int index) {
  constexpr double kReverse = 0.3;
  const Peak above = highest_when_fed(input, index, kOut, kIn);
  if (!exceeds(above.value, kReverse)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutRegulator, "regulator-back-feed"));
  set_limit(finding, "voltage", above.value,
            practice(kReverse, Unit::volt, "the output stays below the input"));
  finding.phase = above.phase;
  finding.message = fmt::format(
      "the output of '{}' is held {} above its input; lead a diode from out to in",
      input.parts[index].name, short_text(above.value, Unit::volt));
  return finding;
}

/// An output that something else holds above what the regulator is set to.
std::optional<Finding> check_pushed(const CheckInput& input, int index) {
  constexpr double kPushedShare = 1.1;     // Common practice, no source.
  constexpr double kDeliveredAmps = 1e-3;  // With more it is the regulator's own.
  const Part& part = input.parts[index];
  const auto set = number_of(part, "output");
  if (!set || flag(part, "adjustable", false) || word_of(part, "adjustable") == "yes")
    return std::nullopt;
  const Peak volts = highest(input, [&](const Observation& seen) {
    const bool is_own = delivered_amps(input, seen, index) > kDeliveredAmps;
    return is_own ? 0.0 : rail_volts(input, seen, index, kOut, kCommon);
  });
  if (!exceeds(volts.value, kPushedShare * *set)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::fault,
                               CheckId(kAboutRegulator, "regulator-pushed"));
  set_limit(finding, "voltage", volts.value, *figure(part, "output"));
  finding.phase = volts.phase;
  finding.message = fmt::format(
      "something else holds the output of '{}' at {}, above its {}: it gives nothing "
      "more, and what it feeds gets too much; join no other supply to it",
      part.name, short_text(volts.value, Unit::volt), short_text(*set, Unit::volt));
  return finding;
}

std::optional<Finding> check_least_load(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto least = number_of(part, "load_min");
  if (!least) return std::nullopt;
  const auto set = number_of(part, "output");
  if (!set) return std::nullopt;
  const Peak missing = highest(input, [&](const Observation& seen) {
    const bool is_off =
        rail_volts(input, seen, index, kIn, kCommon) < kRegulatorOffShare * *set;
    return is_off ? 0.0 : *least - delivered_amps(input, seen, index);
  });
  if (!exceeds(missing.value, kLimitShare * *least)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutRegulator, "regulator-load"));
  set_limit(finding, "current", *least - missing.value, *figure(part, "load_min"));
  finding.bound = Bound::lower;
  finding.phase = missing.phase;
  finding.message = fmt::format(
      "'{}' delivers {}, below the {} it needs to hold its output; lower the resistors "
      "at its adjust pin",
      part.name, short_text(*least - missing.value, Unit::ampere),
      short_text(*least, Unit::ampere));
  return finding;
}

constexpr Special kRegulatorSpecials[] = {
    {CheckId(kAboutRegulator, "regulator-reverse"), check_reverse},
    {CheckId(kAboutRegulator, "regulator-dropout"), check_regulation}};

}  // namespace

std::vector<Finding> check_regulator(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::regulator, [&](int index, const Part&) {
    if (auto open = check_open(input, index)) {
      findings.push_back(std::move(*open));
      return;
    }
    if (auto swapped = check_swapped(input, index)) {
      findings.push_back(std::move(*swapped));
      return;
    }
    tell_ratings(input, index, findings, kRegulatorSpecials);
    append(findings, check_pushed(input, index));
    append(findings, check_back_feed(input, index));
    append(findings, check_least_load(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_regulator() { return kAboutRegulator; }

}  // namespace benchproof
