#include "core/verify/seen/state_result.h"

#include <algorithm>
#include <utility>

#include "core/check/rest/unlimited_amps.h"
#include "core/network/unlimited.h"

namespace benchproof {
namespace {

/// Why no witness can have an answer to a phase, if so.
std::optional<Finding> unanswerable(const PosedState& posed, const PosedPhase& phase) {
  if (const std::vector<int> loop = unlimited_loop(phase.network); !loop.empty())
    return unlimited_finding(posed.circuit(), phase.phase.name, loop);
  if (!posed.apart().empty()) return posed.apart().front();
  return std::nullopt;
}

/// What both witnesses say of one phase, which may be unanswerable.
PhaseResult solve_phase(const Circuit& circuit, const PosedPhase& posed,
                        std::optional<Finding> unanswerable, const Solve& engine,
                        const Solve& nodal) {
  PhaseResult result;
  result.phase = posed.phase;
  result.network = posed.network;
  result.unanswerable = std::move(unanswerable);
  if (result.unanswerable) {
    result.engine.status = result.nodal.status = SolveStatus::not_asked;
    result.engine.reason = result.nodal.reason = result.agreement.reason =
        result.unanswerable->message;
    return result;
  }
  result.nodal = nodal(posed.network);
  result.engine = engine(posed.network);
  result.agreement = agree(circuit, result.network, result.engine, result.nodal);
  if (is_complete(result.network, result.engine))
    result.engine_seen = observe(circuit, result.network, result.engine);
  if (is_complete(result.network, result.nodal))
    result.nodal_seen = observe(circuit, result.network, result.nodal);
  if (result.agreement.agrees) result.strong_seen = strong_seen(circuit, posed, nodal);
  return result;
}

Observation average_of(const std::vector<PhaseResult>& phases,
                       Observation PhaseResult::*seen) {
  if (phases.size() == 1) return phases.front().*seen;  // Its share is 1.
  std::vector<Observation> observations;
  std::vector<double> shares;
  for (const PhaseResult& phase : phases) {
    observations.push_back(phase.*seen);
    shares.push_back(phase.phase.share);
  }
  return average(observations, shares);
}

CheckInput input_of(const Circuit& circuit, const State& state,
                    const StateResult& result, Observation PhaseResult::*seen,
                    const Observation& mean) {
  std::vector<SeenPhase> phases;
  for (const PhaseResult& phase : result.phases)
    phases.push_back(
        {phase.phase, phase.*seen, phase.strong_seen ? &*phase.strong_seen : nullptr});
  return check_input(circuit, state, result.parts, std::move(phases), mean);
}

/// Puts a phase's verdict into its state, where the witnesses do not agree on it.
void take_failure(const PhaseResult& phase, StateResult& result) {
  result.agrees = false;
  if (!phase.unanswerable) {
    result.verdict =
        std::max(result.verdict, failure_of(phase.engine.status, phase.nodal.status));
    return;
  }
  if (result.findings.empty()) result.findings.push_back(*phase.unanswerable);
  result.verdict = std::max(result.verdict, Verdict::fault);
}

}  // namespace

Unanswerable unanswerable_phases(const PosedState& posed) {
  Unanswerable all;
  for (const PosedPhase& phase : posed.phases())
    all.push_back(unanswerable(posed, phase));
  return all;
}

const State& state_of(const Circuit& circuit, const StateResult& result) {
  return *std::find_if(circuit.states.begin(), circuit.states.end(),
                       [&result](const State& s) { return s.name == result.name; });
}

SeenState seen_by_nodal(const StateResult& result) {
  SeenState seen;
  for (const PhaseResult& phase : result.phases) {
    seen.phases.push_back(phase.nodal_seen);
    seen.strong.emplace_back();
  }
  seen.average = result.nodal;
  return seen;
}

std::optional<std::size_t> first_agreed(const std::vector<StateResult>& states) {
  const auto first = std::find_if(states.begin(), states.end(),
                                  [](const StateResult& s) { return s.agrees; });
  if (first == states.end()) return std::nullopt;
  return static_cast<std::size_t>(first - states.begin());
}

Verdict verdict_of(const std::vector<Finding>& findings) {
  Verdict verdict = Verdict::good;
  for (const Finding& finding : findings) {
    if (finding.is_expected) continue;
    if (finding.severity == Severity::fault) return Verdict::fault;
    if (finding.severity == Severity::caution) verdict = Verdict::caution;
  }
  return verdict;
}

Verdict failure_of(SolveStatus engine, SolveStatus nodal) {
  if (engine == SolveStatus::engine_failed || engine == SolveStatus::engine_lost)
    return Verdict::engine_failed;
  if (nodal != SolveStatus::solved) return Verdict::nodal_failed;
  return engine != SolveStatus::solved ? Verdict::engine_failed : Verdict::disagreement;
}

StateResult see_by_both(const PosedState& posed, Unanswerable unanswerable,
                        const Solve& engine, const Solve& nodal) {
  StateResult result;
  result.name = posed.state().name;
  result.parts = posed.parts();
  result.agrees = true;
  for (std::size_t k = 0; k < posed.phases().size(); ++k) {
    result.phases.push_back(solve_phase(posed.circuit(), posed.phases()[k],
                                        std::move(unanswerable[k]), engine, nodal));
    if (!result.phases.back().agreement.agrees)
      take_failure(result.phases.back(), result);
  }
  if (!result.agrees) return result;
  result.engine = average_of(result.phases, &PhaseResult::engine_seen);
  result.nodal = average_of(result.phases, &PhaseResult::nodal_seen);
  return result;
}

CheckInput check_input(const Circuit& circuit, const State& state,
                       const StateResult& result) {
  return input_of(circuit, state, result, &PhaseResult::nodal_seen, result.nodal);
}

CheckInput engine_input(const Circuit& circuit, const State& state,
                        const StateResult& result) {
  return input_of(circuit, state, result, &PhaseResult::engine_seen, result.engine);
}

StateResult see_by_both(const PosedState& posed, const Solve& engine,
                        const Solve& nodal) {
  return see_by_both(posed, unanswerable_phases(posed), engine, nodal);
}

}  // namespace benchproof
