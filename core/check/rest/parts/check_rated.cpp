#include <fmt/format.h>

#include <cmath>

#include "core/check/rest/over_states.h"
#include "core/check/rest/usual.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
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
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// What a lamp, motor, coil or buzzer takes over its rated voltage. Common practice.
constexpr double kLoadCaution = 1.1;
constexpr double kLoadFault = 1.3;

std::optional<Finding> check_fuse(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto rated = figure(part, "rated");
  const auto opens = figure(part, "opens_times");
  const auto holds = figure(part, "holds_times");
  if (!rated || !opens || !holds) return std::nullopt;
  const double amps = heating_amps(input, index);
  keep_margin(input, index, {id("fuse-current"), "current", "rated", "rated current"},
              amps, *rated);
  const std::string is = short_text(amps, Unit::ampere);
  const std::string of = short_text(rated->value, Unit::ampere);
  const auto finding = [&](Severity severity, Figure limit, std::string message) {
    Finding f = about_part(input, index, severity, id("fuse-current"));
    limit.unit = Unit::ampere;
    set_limit(f, "current", amps, limit);
    f.message = std::move(message);
    return f;
  };
  const auto times = [&](Figure figure) {
    figure.value *= rated->value;
    return figure;
  };
  if (exceeds(amps, opens->value * rated->value)) {
    return finding(
        Severity::fault, times(*opens),
        fmt::format("'{}' opens: {} is more than {} times its {}; the circuit draws "
                    "too much, or the fuse is too small",
                    part.name, is, short_text(opens->value, Unit::none), of));
  }
  if (exceeds(amps, holds->value * rated->value)) {
    return finding(
        Severity::fault, times(*holds),
        fmt::format("'{}' opens sooner or later: it carries {}, more than {} times "
                    "its {}",
                    part.name, is, short_text(holds->value, Unit::none), of));
  }
  if (!exceeds(amps, kUsualFuseShare * rated->value)) return std::nullopt;
  return finding(
      Severity::caution,
      practice(kUsualFuseShare * rated->value, Unit::ampere,
               "75 % of a fuse's rated current"),
      fmt::format("'{}' carries {}, {} of its {}; above 75 % it ages and opens without "
                  "cause",
                  part.name, is, short_text(amps / rated->value, Unit::fraction, 2),
                  of));
}

/// A load on more than its rated voltage.
std::optional<Finding> check_load(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto rated = figure(part, "voltage");
  if (!rated) return std::nullopt;
  const double volts = std::abs(volts_between(input, input.average, index, 0, 1));
  keep_margin(input, index, {id("load-voltage"), "voltage", "voltage", "usual excess"},
              volts, practice(kLoadCaution * rated->value, Unit::volt, ""));
  if (!exceeds(volts, kLoadCaution * rated->value)) return std::nullopt;
  const bool is_over = exceeds(volts, kLoadFault * rated->value);
  Finding finding = about_part(
      input, index, is_over ? Severity::fault : Severity::caution, id("load-voltage"));
  const double times = is_over ? kLoadFault : kLoadCaution;
  set_limit(finding, "voltage", volts,
            practice(times * rated->value, Unit::volt,
                     fmt::format("{} times a load's rated voltage",
                                 short_text(times, Unit::none))));
  finding.message =
      fmt::format("'{}' is rated for {} and gets {}; {}", part.name,
                  short_text(rated->value, Unit::volt), short_text(volts, Unit::volt),
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
  Finding finding = about_part(input, index, Severity::caution, id("relay-pull-in"));
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

}  // namespace

std::vector<Finding> check_rated(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::fuse,
            [&](int index, const Part&) { add(findings, check_fuse(input, index)); });
  for (const KindId kind : {KindId::switch_, KindId::inductor}) {
    for_parts(input, kind, [&](int index, const Part&) {
      const Peak amps = highest(input, [&](const Observation& seen) {
        return std::abs(pin_amps(seen, index, 0));
      });
      add(findings, over_rating(input, index,
                                {kind == KindId::inductor ? id("inductor-current")
                                                          : id("switch-current"),
                                 "current", "rated", "current rating"},
                                amps, "use one for more current"));
    });
  }
  for (const KindId kind :
       {KindId::lamp, KindId::motor, KindId::relay_coil, KindId::buzzer}) {
    for_parts(input, kind,
              [&](int index, const Part&) { add(findings, check_load(input, index)); });
  }
  for_parts(input, KindId::relay_coil, [&](int index, const Part&) {
    add(findings, check_pull_in(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_rated() { return kExplained; }

}  // namespace benchproof
