#include "core/verify/verify.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <set>
#include <utility>

#include "core/check/always/always.h"
#include "core/check/always/parallel_leds.h"
#include "core/check/finding/explanation.h"
#include "core/check/rest/joints.h"
#include "core/check/rest/limits.h"
#include "core/check/rest/over_states.h"
#include "core/verify/ends/ends.h"
#include "core/verify/ends/switches.h"
#include "core/verify/moments/first_moment.h"
#include "core/verify/moments/pwm_course.h"
#include "core/verify/seen/asked_ahead.h"
#include "core/verify/seen/at_rest.h"
#include "core/verify/seen/expected_findings.h"
#include "core/verify/spread/doubted_supplies.h"
#include "core/verify/spread/lamp_spread.h"
#include "core/verify/spread/leaks.h"
#include "core/verify/spread/spread.h"
#include "core/verify/spread/strong_expectations.h"

namespace benchproof {
namespace {

/// The finding of a state that explains why a part does not work in it, or empty.
std::string cause_of(const std::vector<Finding>& findings, const std::string& part) {
  const auto cause =
      std::find_if(findings.begin(), findings.end(), [&part](const Finding& finding) {
        return finding.check == "current-unlimited" ||
               finding.check == "regulator-swapped" ||
               finding.check == "controller-reversed" ||
               (finding.check == "led-reverse" && finding.part == part);
      });
  return cause == findings.end() ? "" : cause->check;
}

/// The nets that float in every phase.
std::vector<bool> always_floating(const CheckInput& input) {
  std::vector<bool> always(input.circuit.nets.size(), true);
  for (const SeenPhase& phase : input.phases) {
    const std::vector<bool> here = floating_nets(input, phase);
    for (std::size_t net = 0; net < always.size(); ++net)
      always[net] = always[net] && here[net];
  }
  return always;
}

/// Judges a state that both witnesses agree on. What holds over all states is not
/// looked at.
void judge_state(const Circuit& circuit, const State& state, StateResult& result) {
  const CheckInput by_engine = engine_input(circuit, state, result);
  const CheckInput by_nodal = check_input(circuit, state, result);
  Judgement judgement = judge_at_rest(by_engine, by_nodal);
  result.expectations = std::move(judgement.expectations);
  result.findings = std::move(judgement.findings);
  result.margins = margins_at_rest(by_nodal);
  result.floating = always_floating(by_nodal);
}

/// Adds what only the whole of the states can tell.
void look_over_states(const Circuit& circuit, std::vector<StateResult>& states) {
  std::vector<std::vector<const Observation*>> seen;
  for (const StateResult& state : states) {
    if (!state.agrees) return;
    seen.emplace_back();
    for (const PhaseResult& phase : state.phases)
      seen.back().push_back(&phase.nodal_seen);
  }
  for (auto& [index, finding] : check_over_states(circuit, seen)) {
    if (const auto cause = cause_of(states[index].findings, finding.part);
        !cause.empty())
      finding.follows = cause;
    states[index].findings.push_back(std::move(finding));
    sort_by_severity(states[index].findings);
  }
}

/// A finding in place of which one of another check about the same part goes: a life
/// that ends before its half is none, a transistor of which copies let more flow than
/// is borne is not half on for want of drive, and a note says less than a caution.
struct Replaces {
  std::string_view check;
  std::string_view other;
};
constexpr Replaces kReplaces[] = {{"battery-low", "battery-life"},
                                  {"spread-rating", "transistor-half-on"},
                                  {"spread-rating", "mosfet-half-on"},
                                  {"spread-rating", "transistors-joined"},
                                  {"pwm-smoothed", "capacitor-smooths"}};

/// Puts findings into the states in which they were made.
void add(std::vector<std::pair<std::size_t, Finding>> found,
         std::vector<StateResult>& states) {
  for (auto& [index, finding] : found) {
    std::vector<Finding>& findings = states[index].findings;
    for (const Replaces& r : kReplaces) {
      if (finding.check != r.check) continue;
      std::erase_if(findings, [&, &part = finding.part](const Finding& other) {
        return other.check == r.other && other.part == part;
      });
    }
    findings.push_back(std::move(finding));
    sort_by_severity(findings);
  }
}

/// Leaves out what an earlier state has said of the same part and is as true there.
void tell_once(std::vector<StateResult>& states, std::string_view check) {
  std::set<std::string> told;
  for (StateResult& state : states) {
    std::erase_if(state.findings, [&](const Finding& finding) {
      return finding.check == check && !told.insert(finding.part).second;
    });
  }
}

/// Poses the engine's questions, all of them at once, and judges each state as soon as
/// both witnesses have seen it.
std::vector<StateResult> judge_states(const std::deque<PosedState>& posed,
                                      const Solve& engine, const Solve& nodal,
                                      const SideBySide& side_by_side) {
  AskedAhead engine_ahead;
  std::vector<Unanswerable> all_unanswerable;
  for (const PosedState& state : posed) {
    const Unanswerable& here =
        all_unanswerable.emplace_back(unanswerable_phases(state));
    for (std::size_t k = 0; k < here.size(); ++k)
      if (!here[k]) engine_ahead.add(state.phases()[k].network);
  }
  std::vector<StateResult> results;
  const auto judge_all = [&] {
    for (std::size_t k = 0; k < posed.size(); ++k) {
      const PosedState& state = posed[k];
      results.push_back(see_by_both(state, std::move(all_unanswerable[k]),
                                    engine_ahead.answers(), nodal));
      if (results.back().agrees)
        judge_state(state.circuit(), state.state(), results.back());
    }
  };
  side_by_side(2, [&](std::size_t job) {
    if (job == 0)
      engine_ahead.ask(engine);
    else
      judge_all();
  });
  for (std::size_t k = 0; k < results.size(); ++k) {
    if (!results[k].agrees) continue;
    for (Finding& finding : check_strong_expectations(
             posed[k].circuit(), posed[k].state(), results[k], engine))
      results[k].findings.push_back(std::move(finding));
    sort_by_severity(results[k].findings);
  }
  return results;
}

/// Whether a transistor carries a current and keeps next to no voltage for itself.
bool is_on(const Part& part, const Observation& seen, int index) {
  constexpr double kOnVolts = 0.5;  // Common practice, no source.
  const bool is_transistor =
      part.kind == KindId::transistor || part.kind == KindId::mosfet;
  if (!is_transistor || part.nets[1] < 0 || part.nets[2] < 0) return false;
  const double volts = seen.net_volts[part.nets[1]] - seen.net_volts[part.nets[2]];
  return std::abs(volts) < kOnVolts && std::abs(pin_amps(seen, index, 1)) >= kLitAmps;
}

/// All phases that were seen, with what conducts in them.
std::vector<ConductingPhase> conducting_phases(const Circuit& circuit,
                                               const std::vector<StateResult>& states) {
  std::vector<ConductingPhase> all;
  for (const StateResult& state : states) {
    if (!state.agrees) continue;
    for (const PhaseResult& phase : state.phases) {
      ConductingPhase& here = all.emplace_back();
      here.state = &phase.phase.state;
      for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k)
        if (is_on(circuit.parts[k], phase.nodal_seen, k)) here.on.push_back(k);
    }
  }
  return all;
}

/// Adds LEDs that share a resistor only while transistors are on.
void look_at_shared_leds(const Circuit& circuit, const std::vector<StateResult>& states,
                         std::vector<Finding>& findings) {
  for (Finding& finding :
       check_shared_leds(circuit, conducting_phases(circuit, states))) {
    const bool is_told =
        std::any_of(findings.begin(), findings.end(), [&finding](const Finding& f) {
          return f.check == finding.check && f.part == finding.part;
        });
    if (!is_told) findings.push_back(std::move(finding));
  }
}

/// Tells once, in the first state that has findings, what holds whatever the state.
void look_at_parts(const Circuit& circuit, std::vector<StateResult>& states) {
  const auto first = first_agreed(states);
  if (!first) return;
  std::vector<Finding>& findings = states[*first].findings;
  for (const CircuitCheck& check : circuit_checks()) {
    for (Finding& finding : check.run(circuit)) findings.push_back(std::move(finding));
  }
  look_at_shared_leds(circuit, states, findings);
  sort_by_severity(findings);
}

/// The verdict of each state by its findings, and the worst of all.
void take_verdicts(const Circuit& circuit, Verification& verification) {
  for (StateResult& state : verification.states) {
    mark_expected(circuit, state.name, -1, state.findings);
    // Where nothing limits a current nobody was asked; it may be expected.
    if (state.agrees || state.verdict == Verdict::fault)
      state.verdict = verdict_of(state.findings);
    verification.verdict = std::max(verification.verdict, state.verdict);
  }
}

}  // namespace

Verification verify(const Circuit& circuit, const Solve& engine, const Solve& nodal,
                    const std::vector<std::string>& only, Supplies supplies,
                    const SideBySide& side_by_side) {
  const std::deque<PosedState> posed = pose_states(circuit, only);
  const bool is_whole =
      std::ssize(posed) == std::count_if(circuit.states.begin(), circuit.states.end(),
                                         [](const State& s) { return s.steady; });
  Verification verification;
  verification.states = judge_states(posed, engine, nodal, side_by_side);
  if (is_whole) look_over_states(circuit, verification.states);
  std::vector<StateResult>& states = verification.states;
  if (supplies == Supplies::doubted)
    add(check_doubted_supplies(circuit, states, is_whole, nodal), states);
  add(check_ends(circuit, states, engine, nodal), states);
  if (is_whole) add(check_switches(circuit, states, engine, nodal), states);
  add(check_lamp_spread(circuit, states, engine, nodal), states);
  add(check_leaks(circuit, states, nodal), states);
  add(check_first_moment(circuit, states, engine, nodal), states);
  add(check_pwm_course(circuit, states, engine, nodal), states);
  look_at_parts(circuit, states);
  add(check_spread(circuit, states, engine, nodal), states);
  for (const std::string_view check :
       {"capacitor-smooths", "flicker-risk", "capacitor-life", "derating"})
    tell_once(verification.states, check);
  take_verdicts(circuit, verification);
  return verification;
}

Verification verify_as_posed(const std::deque<PosedState>& posed, const Solve& engine,
                             const Solve& nodal) {
  Verification verification;
  verification.states = judge_states(posed, engine, nodal, in_turn);
  if (!posed.empty()) take_verdicts(posed.front().circuit(), verification);
  return verification;
}

}  // namespace benchproof
