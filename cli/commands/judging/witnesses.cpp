#include "cli/commands/judging/witnesses.h"

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <functional>
#include <memory>
#include <thread>
#include <vector>

#include "cli/commands/output.h"
#include "cli/render/verify/json.h"
#include "cli/render/verify/text.h"
#include "core/base/threads.h"
#include "core/nodal/transient.h"
#include "core/tolerance/states/left_out.h"
#include "core/verify/hand_rules.h"
#include "core/verify/runs/verify_runs.h"
#include "spice/session/patience.h"
#include "spice/session/witness.h"

namespace benchproof {
namespace {

/// Does as many jobs at once as the machine has cores, but at least two: one of them
/// may be waiting for the engine.
void side_by_side(std::size_t jobs, const std::function<void(std::size_t)>& job) {
  const std::size_t at_once =
      std::min<std::size_t>(jobs, std::max(2U, std::thread::hardware_concurrency()));
  std::atomic<std::size_t> next = 0;
  on_threads(static_cast<unsigned>(at_once), [&](unsigned) {
    for (std::size_t k = next++; k < jobs; k = next++) job(k);
  });
}

}  // namespace

EngineOptions engine_options(bool allow_unsealed) {
  EngineOptions options;
  options.allow_unsealed = allow_unsealed;
  return options;
}

Witnesses make_witnesses(EngineSession& session, NodalWitness& nodal) {
  constexpr SolveStatus kEngineLate = SolveStatus::engine_lost;
  constexpr SolveStatus kNodalLate = SolveStatus::no_convergence;
  const Patience patience(kForOneDescription);
  const Solve engine = [&session](const Network& n) {
    return solve_with_engine(session, n);
  };
  const Solve cold = [&nodal](const Network& n) { return nodal.solve(n); };
  const Solve near = [&nodal](const Network& n) { return nodal.solve_near(n); };
  const auto another_near = [patience] {
    const auto own = std::make_shared<NodalWitness>();
    return patience.bound(Solve([own](const Network& n) { return own->solve_near(n); }),
                          kNodalLate);
  };
  const auto another_engine = [patience, options = session.options()] {
    const auto own = std::make_shared<EngineSession>(options);
    const SolveInTime in_time = engine_in_time(*own);
    return patience.bound(
        SolveInTime(
            [own, in_time](const Timeline& timeline, const std::vector<double>& also_at,
                           int closer) { return in_time(timeline, also_at, closer); }),
        kEngineLate);
  };
  return {patience.bound(near, kNodalLate),
          another_near,
          patience.bound(engine, kEngineLate),
          patience.bound(cold, kNodalLate),
          patience.bound(SolveUntil(nodal_until), kNodalLate),
          patience.bound(engine_in_time(session), kEngineLate),
          another_engine,
          patience.bound(SolveInTime(nodal_in_time), kNodalLate),
          side_by_side};
}

void judge(FileReport& report, EngineSession& session,
           const std::vector<std::string>& states, const std::vector<std::string>& runs,
           bool runs_at_once) {
  const Circuit& circuit = *report.circuit;
  const bool is_choice = !states.empty() || !runs.empty();
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  const SideBySide side_by_side = runs_at_once ? by.side_by_side : SideBySide(in_turn);
  const auto judge_at_rest = [&] {
    if (is_choice && states.empty()) return;
    report.verification =
        verify(circuit, by.engine, by.nodal, states, Supplies::doubted, side_by_side);
    add_left_out(circuit, by.engine, by.nodal, report.verification);
  };
  if (is_choice && runs.empty())
    judge_at_rest();
  else
    report.runs =
        verify_runs(circuit, by.engine_in_time, by.nodal_in_time, runs,
                    RunsAtOnce{side_by_side, by.another_engine, judge_at_rest});
  report.expected =
      hold_expected_findings(circuit, report.verification, report.runs, !is_choice);
}

void judge_in_full(FileReport& report, EngineSession& session,
                   const std::vector<std::string>& states,
                   const std::vector<std::string>& runs) {
  judge(report, session, states, runs, true);
  put_by_hand(*report.circuit, report.verification);
}

void explain(FileReport& report, EngineSession& session) {
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  report.one_mistake =
      one_mistake(*report.circuit, report.verification, by.engine, by.nodal);
}

int refuse(const FileReport& report, bool json) {
  write_error(complaints_text(report, wraps_errors()));
  if (json) static_cast<void>(write_result(verify_json(report) + "\n"));
  return kExitRefused;
}

std::string seal_text(const EngineSession& session) {
  if (session.lacks_seal())
    return "benchproof: the engine's worker cannot be sealed on this machine;\n"
           "  --allow-unsealed goes on without the seal\n";
  if (session.is_unsealed())
    return "benchproof: warning: the engine runs without its seal\n";
  return {};
}

int exit_status(Verdict verdict) {
  switch (verdict) {
    case Verdict::good:
    case Verdict::caution:
      return kExitGood;
    case Verdict::fault:
      return kExitFault;
    case Verdict::engine_failed:
    case Verdict::nodal_failed:
      return kExitNoAnswer;
    case Verdict::disagreement:
      return kExitDisagreement;
  }
  return kExitNoAnswer;
}

}  // namespace benchproof
