#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutRated[] = {
    {"fuse-current", "a fuse's current",
     "I (RMS over the phases): caution above 0.75 'rated', fault above 'holds_times' "
     "'rated' (it opens sooner or later) and above 'opens_times' 'rated'",
     "the part's figures 'rated', 'holds_times' and 'opens_times'; 'benchproof parts "
     "TYPE' names their sources and marks (IEC 60127-2 sheet 2, memory); the 75 %: "
     "common practice, no source (practice)",
     "a fuse near its rating ages and opens without cause; one past it opens",
     "draw less, or use a fuse for more current"},
    {"switch-current", "a switch's current", "highest |I| of any phase <= 'rated'",
     "the part's figure 'rated'; 'benchproof parts TYPE' names its source and mark",
     "its contacts weld or burn", "use one for more current"},
    {"inductor-current", "an inductor's current", "highest |I| of any phase <= 'rated'",
     "the part's figure 'rated'; 'benchproof parts TYPE' names its source and mark",
     "its core saturates or its winding overheats", "use one for more current"},
    {"load-voltage", "what a lamp, motor, coil or buzzer gets",
     "average |V|: caution above 1.1 'voltage', fault above 1.3 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "1.1 and 1.3: common practice, no source (practice)",
     "a lamp's life falls steeply with its voltage, and windings overheat",
     "lower the voltage, or put a resistor in series"},
    {"relay-pull-in", "whether a relay that is on pulls in for certain",
     "|V| of the coil >= 0.75 'voltage', where it has at least half",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the 75 %: common practice, no source (practice)",
     "with less its contacts may chatter or stay open",
     "give the coil its voltage: a transistor that is fully on, or a relay for less"},
};

std::optional<Finding> check_fuse(const CheckInput& input, int index,
                                  const Rating& rating) {
  const Part& part = input.parts[index];
  const auto found = standing(input, index, rating);
  const auto opens = figure(part, "opens_times");
  const auto holds = figure(part, "holds_times");
  if (!found || !found->severity || !opens || !holds) return std::nullopt;
  const double amps = found->value.value;
  const double rated = found->limit.value;
  Finding finding = about_rating(input, index, rating, *found);
  const auto set_times = [&](Figure times) {
    times.value *= rated;
    times.unit = Unit::ampere;
    set_limit(finding, rating.quantity, amps, times);
  };
  const std::string is = short_text(amps, Unit::ampere);
  const std::string of = short_text(rated, Unit::ampere);
  if (exceeds(amps, opens->value * rated)) {
    set_times(*opens);
    finding.message = fmt::format(
        "'{}' opens: {} is more than {} times its {}; the circuit draws too much, or "
        "the fuse is too small",
        part.name, is, short_text(opens->value, Unit::none), of);
  } else if (finding.severity == Severity::fault) {
    set_times(*holds);
    finding.message = fmt::format(
        "'{}' opens sooner or later: it carries {}, more than {} times its {}",
        part.name, is, short_text(holds->value, Unit::none), of);
  } else {
    const double usual = caution_share(rating, part);
    const std::string share = short_text(usual, Unit::fraction);
    set_limit(finding, rating.quantity, amps,
              practice(usual * rated, Unit::ampere,
                       fmt::format("{} of a fuse's rated current", share)));
    finding.message = fmt::format(
        "'{}' carries {}, {} of its {}; above {} it ages and opens without cause",
        part.name, is, short_text(amps / rated, Unit::fraction, 2), of, share);
  }
  return finding;
}

/// A load on more than its rated voltage.
std::optional<Finding> check_load(const CheckInput& input, int index,
                                  const Rating& rating) {
  const Part& part = input.parts[index];
  const auto found = told_standing(input, index, rating);
  if (!found) return std::nullopt;
  const bool is_over = found->severity == Severity::fault;
  const double times =
      is_over ? fault_times(rating, part) : caution_share(rating, part);
  Finding finding = about_rating(input, index, rating, *found);
  set_limit(finding, rating.quantity, found->value.value,
            practice(times * found->limit.value, Unit::volt,
                     fmt::format("{} times a load's rated voltage",
                                 short_text(times, Unit::none))));
  finding.message = fmt::format("'{}' is rated for {} and gets {}; {}", part.name,
                                short_text(found->limit.value, Unit::volt),
                                short_text(found->value.value, Unit::volt),
                                is_over ? "it is destroyed in time: lower the voltage"
                                        : "that shortens its life");
  return finding;
}

/// A relay pulls in for certain at three quarters of its coil's voltage; below half of
/// it the coil counts as off.
std::optional<Finding> check_pull_in(const CheckInput& input, int index) {
  constexpr double kPullInShare = 0.75;  // Common practice, no source.
  const Part& part = input.parts[index];
  const auto rated = figure(part, "voltage");
  if (!rated) return std::nullopt;
  // The coil smooths a fast PWM: what counts is the average.
  const Peak volts{std::abs(volts_between(input, input.average, index, 0, 1)), ""};
  const Peak peak = highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, index, 0, 1));
  });
  const bool is_on = peak.value >= kIdleShare * rated->value;
  if (!is_on || !exceeds(kPullInShare * rated->value, volts.value)) return std::nullopt;
  Finding finding = about_part(input, index, Severity::caution,
                               CheckId(kAboutRated, "relay-pull-in"));
  set_limit(finding, "voltage", volts.value,
            practice(kPullInShare * rated->value, Unit::volt,
                     "three quarters of a relay coil's rated voltage"));
  finding.bound = Bound::lower;
  finding.phase = volts.phase;
  finding.message = fmt::format(
      "'{}' may not pull in: it gets {} of its {}; below {} it is not sure", part.name,
      short_text(volts.value, Unit::volt), short_text(rated->value, Unit::volt),
      short_text(kPullInShare * rated->value, Unit::volt));
  return finding;
}

/// Kinds whose ratings other files tell of, since they have more to say.
constexpr std::array kElsewhere = {
    KindId::dc_supply,
    KindId::battery,
    KindId::regulator,
    KindId::controller,
    KindId::led,
    KindId::transistor,
    KindId::mosfet,
    KindId::diode,
    KindId::zener,
    KindId::resistor,
    KindId::trimmer,
    KindId::light_resistor,
    KindId::heat_resistor,
    KindId::capacitor,
    KindId::wire,
    KindId::voltage_source,
    KindId::current_source,
};

/// All other kinds of the table of ratings: no kind's ratings go untold.
std::vector<KindId> kinds_told_here() {
  std::vector<KindId> kinds = {KindId::fuse,  KindId::switch_, KindId::inductor,
                               KindId::lamp,  KindId::motor,   KindId::relay_coil,
                               KindId::buzzer};
  const auto is_in = [](const auto& list, KindId kind) {
    return std::find(list.begin(), list.end(), kind) != list.end();
  };
  for (const RatingGroup& group : rating_groups()) {
    for (const KindId kind : group.kinds)
      if (!is_in(kElsewhere, kind) && !is_in(kinds, kind)) kinds.push_back(kind);
  }
  return kinds;
}

constexpr Special kRatedSpecials[] = {
    {CheckId(kAboutRated, "fuse-current"), check_fuse},
    {CheckId(kAboutRated, "load-voltage"), check_load}};

}  // namespace

std::vector<Finding> check_rated(const CheckInput& input) {
  std::vector<Finding> findings;
  static const std::vector<KindId> kKinds = kinds_told_here();
  for (const KindId kind : kKinds) {
    for_parts(input, kind, [&](int index, const Part&) {
      tell_ratings(input, index, findings, kRatedSpecials);
    });
  }
  for_parts(input, KindId::relay_coil, [&](int index, const Part&) {
    append(findings, check_pull_in(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_rated() { return kAboutRated; }

}  // namespace benchproof
