#include "core/check/over_states.h"

#include <fmt/format.h>

#include <cmath>
#include <optional>

#include "core/check/limits.h"
#include "core/check/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"led-dark", "an LED that no state lights",
     "the highest current of all states at least 0.1 mA",
     "common practice, no source (practice)",
     "it never lights: the wrong way round, not driven, or too little voltage",
     "turn it round, drive it, or give it more voltage"},
    {"led-faint", "an LED that no state lights well",
     "the highest current of all states at least 0.5 mA",
     "common practice, no source (practice)", "in a lit room it is hardly seen",
     "lower its resistor, if it is to be brighter"},
    {"load-idle", "a lamp, motor, coil or buzzer that no state drives",
     "the highest voltage of all states at least half of 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the half: common practice, no source (practice)",
     "it does nothing",
     "see that what switches it is fully on, and the supply high enough"},
    {"load-weak", "a lamp, motor or buzzer that no state drives fully",
     "the highest voltage of all states at least four fifths of 'voltage'",
     "the part's figure 'voltage'; 'benchproof parts TYPE' names its source and mark; "
     "the four fifths: common practice, no source (practice)",
     "it works weakly, and a motor may not start",
     "see that what switches it is fully on, and the supply high enough"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// A reverse voltage that leakage alone does not bring about. Common practice, no
/// source.
constexpr double kReversedVolts = 0.3;

struct Brightest {
  std::size_t state = 0;
  double amps = 0.0;     ///< Forward; 0 where it never conducts forward.
  double volts = 0.0;    ///< Highest forward voltage of any phase.
  double reverse = 0.0;  ///< Highest reverse voltage of any phase.
};

Brightest brightest(const Part& led, std::size_t index,
                    const std::vector<std::vector<const Observation*>>& seen) {
  Brightest best;
  best.volts = -HUGE_VAL;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const double amps = phase->pin_amps[index][0];
      if (amps > best.amps) {
        best.state = state;
        best.amps = amps;
      }
      if (led.nets[0] < 0 || led.nets[1] < 0) continue;
      const double volts =
          phase->net_volts[led.nets[0]] - phase->net_volts[led.nets[1]];
      best.volts = std::max(best.volts, volts);
      best.reverse = std::max(best.reverse, -volts);
    }
  }
  return best;
}

/// A lamp, motor, coil or buzzer that no state gives a useful share of its rated
/// voltage.
std::optional<std::pair<std::size_t, Finding>> idle_load(
    const Part& load, const std::vector<std::vector<const Observation*>>& seen) {
  const std::optional<Figure> rated = figure(load, "voltage");
  if (!rated || load.nets[0] < 0 || load.nets[1] < 0) return std::nullopt;
  double most = 0.0;
  std::size_t best = 0;
  for (std::size_t state = 0; state < seen.size(); ++state) {
    for (const Observation* phase : seen[state]) {
      const double volts =
          std::abs(phase->net_volts[load.nets[0]] - phase->net_volts[load.nets[1]]);
      if (volts > most) {
        most = volts;
        best = state;
      }
    }
  }
  if (most >= kWorkingShare * rated->value) return std::nullopt;
  const bool is_idle = most < kIdleShare * rated->value;
  // A relay's own, lower share is looked at in every state.
  if (!is_idle && load.kind == KindId::relay_coil) return std::nullopt;
  const double share = is_idle ? kIdleShare : kWorkingShare;
  Finding finding;
  finding.severity = is_idle ? Severity::fault : Severity::caution;
  finding.check = is_idle ? id("load-idle") : id("load-weak");
  finding.part = load.name;
  finding.span = load.span;
  set_limit(finding, "voltage", most,
            practice(share * rated->value, Unit::volt,
                     is_idle ? "half of a load's rated voltage"
                             : "four fifths of a load's rated voltage"));
  finding.bound = Bound::lower;
  finding.message = fmt::format(
      "'{}' {}: no state gives it more than {} of its {}; is what switches it fully "
      "on, and the supply high enough",
      load.name, is_idle ? "does nothing" : "works weakly",
      short_text(most, Unit::volt), short_text(rated->value, Unit::volt));
  return std::pair{best, std::move(finding)};
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_over_states(
    const Circuit& circuit, const std::vector<std::vector<const Observation*>>& seen) {
  std::vector<std::pair<std::size_t, Finding>> findings;
  if (seen.empty()) return findings;
  for (std::size_t i = 0; i < circuit.parts.size(); ++i) {
    const Part& part = circuit.parts[i];
    if (is_load(part.kind)) {
      if (auto idle = idle_load(part, seen)) findings.push_back(std::move(*idle));
      continue;
    }
    if (part.kind != KindId::led) continue;
    const Brightest best = brightest(part, i, seen);
    if (best.amps >= kFaintAmps) continue;
    const bool is_dark = best.amps < kLitAmps;
    const Figure limit =
        is_dark ? practice(kLitAmps, Unit::ampere, "least current of a visible LED")
                : practice(kFaintAmps, Unit::ampere, "least current in a lit room");
    Finding finding;
    finding.severity = is_dark ? Severity::fault : Severity::note;
    finding.check = is_dark ? id("led-dark") : id("led-faint");
    finding.part = part.name;
    finding.span = part.span;
    set_limit(finding, "current", best.amps, limit);
    finding.bound = Bound::lower;
    const std::string amps = short_text(best.amps, Unit::ampere);
    if (!is_dark) {
      finding.message =
          fmt::format("'{}' is faint: it gets at most {} in any state, below {}",
                      part.name, amps, short_text(limit.value, Unit::ampere));
    } else if (best.volts <= kReversedVolts && best.reverse > kReversedVolts) {
      finding.message = fmt::format(
          "'{}' looks the wrong way round and never lights: its cathode lies up to {} "
          "above its anode; turn it to the right way round",
          part.name, short_text(best.reverse, Unit::volt));
    } else if (best.volts <= 0.0) {
      finding.message = fmt::format(
          "'{}' never lights: in no state is its anode above its cathode; is it the "
          "right way round, and driven",
          part.name);
    } else {
      finding.message = fmt::format(
          "'{}' never lights: it gets at most {} in any state, below {}, at no more "
          "than {} across it",
          part.name, amps, short_text(limit.value, Unit::ampere),
          short_text(best.volts, Unit::volt));
    }
    findings.emplace_back(best.state, std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_over_states() { return kExplained; }

}  // namespace benchproof
