#include "core/verify/moments/pwm_course.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>

#include "core/catalogue/pins.h"
#include "core/check/agree/agreement.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/circuit/capacitance.h"
#include "core/network/edits.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutPwmCourse[] = {
    {"gate-slow", "a gate that is to follow PWM",
     "tau = R C of the gate: R by a probe of 0.1 uA at the gate in each phase, C = Cgs "
     "+ "
     "Cgd: a caution above 1/20 of the period (of which edges of 2.2 tau take a fifth "
     "then) or half of the shorter of its two parts, a fault above half of the period",
     "R by both witnesses; the part's capacitances, 'benchproof parts TYPE' names "
     "their source and mark; the shares: common practice, no source (practice)",
     "on its way up and down the transistor is neither on nor off and gets hot; a gate "
     "that never arrives leaves it half on for ever",
     "a resistor of some 100 ohm before the gate, or a lower frequency"},
    {"pwm-smoothed", "a capacitor that keeps what PWM is to change",
     "the capacitor goes to each phase's voltage at rest with tau = R C, R by a probe "
     "at its ends; over a period that repeats itself, a caution where its mean voltage "
     "lies further from the phases' mean than a tenth of what lies between the phases. "
     "Left out where a run plays the PWM out",
     "Kirchhoff's laws, one time constant a phase; a tenth: common practice, no source "
     "(practice)",
     "it charges through the transistor at once and discharges through the load "
     "slowly, "
     "so that the load hardly sees the pauses; and the figures of the state are those "
     "without it",
     "leave the capacitor out, put it on the supply's side, or put a choke and a diode "
     "before it"},
};

constexpr double kGateProbe = 1e-7;   // Ampere.
constexpr double kStoreProbe = 1e-5;  // Ampere.
constexpr double kLeastOhms = 1e-4;   // Less is rounding.

// Shares. Common practice, no source.
constexpr double kSlowGate = 0.05;     // Of the period.
constexpr double kLateGate = 0.5;      // Of the shorter part of it.
constexpr double kStandingGate = 0.5;  // Of the period: a fault.
constexpr double kGateSwing = 1.0;     // Volt: less does not switch.
constexpr double kStoreSwing = 0.1;    // Volt: less is not dimmed.
constexpr double kFarMean = 0.1;

/// Resistance between two nets as a witness sees it in a phase.
std::optional<double> ohms_between(const PhaseResult& phase, const Observation& rest,
                                   std::pair<int, int> nets, double amps,
                                   const Solve& witness) {
  Network probed = with_probe(phase.network, nets.first, nets.second);
  probed.values.amps.back() = amps;
  const Solution solution = witness(probed);
  if (!is_complete(probed, solution)) return std::nullopt;
  const double volts = solution.volts[nets.first] - solution.volts[nets.second] -
                       (rest.net_volts[nets.first] - rest.net_volts[nets.second]);
  return std::max(volts / amps, kLeastOhms);
}

/// The PWM of a state: the highest frequency, and whether it is the only one.
struct Beat {
  double hertz = 0.0;
  bool is_single = true;
};
Beat beat_of(const State& state) {
  Beat beat;
  for (const auto& [pin, setting] : state.outputs) {
    if (setting.level != OutputSetting::Level::pwm) continue;
    if (beat.hertz != 0.0 && setting.hertz != beat.hertz) beat.is_single = false;
    beat.hertz = std::max(beat.hertz, setting.hertz);
  }
  return beat;
}

/// What is asked about, by one witness.
struct Question {
  const Circuit& circuit;
  const StateResult& state;
  Beat beat;
  const Solve& witness;
  Observation PhaseResult::*seen;

  [[nodiscard]] double volts(const PhaseResult& phase, std::pair<int, int> nets) const {
    const std::vector<double>& all = (phase.*seen).net_volts;
    return all[nets.first] - all[nets.second];
  }
  /// Between its highest and lowest voltage over the phases.
  [[nodiscard]] std::pair<double, double> range(std::pair<int, int> nets) const {
    double least = volts(state.phases.front(), nets);
    double most = least;
    for (const PhaseResult& phase : state.phases) {
      least = std::min(least, volts(phase, nets));
      most = std::max(most, volts(phase, nets));
    }
    return {least, most};
  }
};

/// The share of the time in which a voltage is above its middle.
double high_share(const Question& q, std::pair<int, int> nets) {
  const auto [least, most] = q.range(nets);
  double share = 0.0;
  for (const PhaseResult& phase : q.state.phases)
    if (q.volts(phase, nets) > 0.5 * (least + most)) share += phase.phase.share;
  return share;
}

std::optional<Finding> slow_gate(const Question& q, int index) {
  const Part& part = q.state.parts[index];
  const std::pair nets(part.nets[kGate], part.nets[kSource]);
  if (nets.first < 0 || nets.second < 0) return std::nullopt;
  const auto [least, most] = q.range(nets);
  if (most - least < kGateSwing) return std::nullopt;
  double ohms = 0.0;
  for (const PhaseResult& phase : q.state.phases) {
    const auto here = ohms_between(phase, phase.*q.seen, nets, kGateProbe, q.witness);
    if (!here) return std::nullopt;
    ohms = std::max(ohms, *here);
  }
  const MosFarads farads = mos_farads(part);
  const double tau = ohms * (farads.gate_source + farads.gate_drain);
  const double period = 1.0 / q.beat.hertz;
  const double share = high_share(q, nets);
  const double borne =
      period * std::min(kSlowGate, kLateGate * std::min(share, 1.0 - share));
  if (!(tau > borne)) return std::nullopt;
  const bool is_standing = tau > kStandingGate * period;
  Finding finding =
      about(q.circuit.parts[index], is_standing ? Severity::fault : Severity::caution,
            CheckId(kAboutPwmCourse, "gate-slow"));
  set_limit(finding, "time constant", tau,
            practice(borne, Unit::second, "a gate that follows its PWM"));
  finding.message = fmt::format(
      "the gate of '{}' charges through {} with a time constant of {}, and the PWM of "
      "{} has a period of {}: {}; use a smaller resistor before the gate, or a lower "
      "frequency",
      part.name, short_text(ohms, Unit::ohm), short_text(tau, Unit::second),
      short_text(q.beat.hertz, Unit::hertz), short_text(period, Unit::second),
      is_standing ? "the gate cannot follow and stands in the middle, where the "
                    "transistor is half on for ever and gets hot"
                  : "it switches slowly, and gets hot on the way");
  return finding;
}

/// The mean voltage of a capacitor that goes to each phase's voltage with that phase's
/// time constant, over a period that ends as it began.
struct Phasing {
  double seconds = 0.0;
  double volts = 0.0;
  double tau = 0.0;
};
double repeated_mean(const std::vector<Phasing>& phases) {
  double kept = 1.0;
  double added = 0.0;
  for (const Phasing& p : phases) {
    const double left = std::exp(-p.seconds / p.tau);
    kept *= left;
    added = added * left - p.volts * std::expm1(-p.seconds / p.tau);
  }
  double now = added / (1.0 - kept);
  double area = 0.0;
  double period = 0.0;
  for (const Phasing& p : phases) {
    const double gone = -std::expm1(-p.seconds / p.tau);
    area += p.volts * p.seconds + (now - p.volts) * p.tau * gone;
    now += (p.volts - now) * gone;
    period += p.seconds;
  }
  return area / period;
}

/// All that lies between two nets. Farad.
double farads_between(const std::vector<Part>& parts, std::pair<int, int> nets) {
  double sum = 0.0;
  for (const Part& part : parts) {
    if (part.kind == KindId::capacitor && std::minmax({part.nets[0], part.nets[1]}) ==
                                              std::minmax({nets.first, nets.second}))
      sum += number_of(part, "value").value_or(0.0);
  }
  return sum;
}

std::optional<Finding> smoothed(const Question& q, int index) {
  const Part& part = q.state.parts[index];
  const std::pair nets(part.nets[0], part.nets[1]);
  if (nets.first < 0 || nets.second < 0 || !q.beat.is_single) return std::nullopt;
  const auto [least, most] = q.range(nets);
  if (most - least < kStoreSwing) return std::nullopt;
  const double farads = farads_between(q.state.parts, nets);
  std::vector<Phasing> phases;
  double told_mean = 0.0;
  for (const PhaseResult& phase : q.state.phases) {
    const auto ohms = ohms_between(phase, phase.*q.seen, nets, kStoreProbe, q.witness);
    if (!ohms) return std::nullopt;
    const double volts = q.volts(phase, nets);
    told_mean += phase.phase.share * volts;
    phases.push_back({phase.phase.share / q.beat.hertz, volts, *ohms * farads});
  }
  const double mean = repeated_mean(phases);
  const double off = std::abs(mean - told_mean);
  if (!std::isfinite(mean) || off <= kFarMean * (most - least)) return std::nullopt;
  Finding finding = about(q.circuit.parts[index], Severity::caution,
                          CheckId(kAboutPwmCourse, "pwm-smoothed"));
  set_limit(
      finding, "voltage", off,
      practice(kFarMean * (most - least), Unit::volt, "near the mean of the phases"));
  finding.message = fmt::format(
      "'{}' keeps {} over the period of {} in state '{}', where the phases' mean is "
      "{}: "
      "it charges fast and discharges slowly, so what is across it is not dimmed by "
      "the PWM; leave the capacitor out, or describe a run ([[runs]]), which plays the "
      "PWM out",
      part.name, short_text(mean, Unit::volt),
      short_text(1.0 / q.beat.hertz, Unit::second), q.state.name,
      short_text(told_mean, Unit::volt));
  return finding;
}

/// Whether a run plays a state out.
bool is_played(const Circuit& circuit, const State& state) {
  const int index = static_cast<int>(&state - circuit.states.data());
  return std::any_of(circuit.runs.begin(), circuit.runs.end(), [&](const Run& run) {
    return std::any_of(run.steps.begin(), run.steps.end(),
                       [index](const RunStep& s) { return s.state == index; });
  });
}

std::optional<Finding> judge(const Question& q, int part, bool played) {
  switch (q.circuit.parts[part].kind) {
    case KindId::mosfet:
      return slow_gate(q, part);
    case KindId::capacitor:
      return played ? std::nullopt : smoothed(q, part);
    default:
      return std::nullopt;
  }
}

}  // namespace

std::vector<std::pair<std::size_t, Finding>> check_pwm_course(
    const Circuit& circuit, const std::vector<StateResult>& states, const Solve& engine,
    const Solve& nodal) {
  std::vector<std::pair<std::size_t, Finding>> findings;
  std::set<int> told;
  for (std::size_t k = 0; k < states.size(); ++k) {
    if (!states[k].agrees || states[k].phases.size() < 2) continue;
    const State& state = state_of(circuit, states[k]);
    const bool played = is_played(circuit, state);
    const Beat beat = beat_of(state);
    for (int part = 0; part < static_cast<int>(circuit.parts.size()); ++part) {
      if (told.contains(part)) continue;
      auto found = judge({circuit, states[k], beat, nodal, &PhaseResult::nodal_seen},
                         part, played);
      if (!found) continue;
      const auto confirmed = judge(
          {circuit, states[k], beat, engine, &PhaseResult::engine_seen}, part, played);
      // What is told rests on both witnesses.
      if (!confirmed || confirmed->severity != found->severity) continue;
      told.insert(part);
      findings.emplace_back(k, *std::move(found));
    }
  }
  return findings;
}

std::span<const Explanation> explain_pwm_course() { return kAboutPwmCourse; }

}  // namespace benchproof
