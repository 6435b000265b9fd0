#include "core/sizing/detail/judging.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

#include "core/base/complaints.h"
#include "core/check/agree/run_agreement.h"
#include "core/circuit/tolerance.h"
#include "core/sizing/detail/measure.h"
#include "core/sizing/detail/pairs.h"
#include "core/verify/runs/verify_runs.h"

namespace benchproof {
namespace {

Circuit with_values(const Circuit& circuit, const SizeRequest& request,
                    const std::vector<double>& values) {
  Circuit changed = circuit;
  put_values(changed, request.keys, values);
  return changed;
}

// --- findings -----------------------------------------------------------------------

/// Puts a finding into a list that has none of its check and part.
void put_once(const Finding& finding, std::vector<Finding>& list) {
  const bool is_told = std::any_of(list.begin(), list.end(), [&](const Finding& other) {
    return other.check == finding.check && other.part == finding.part &&
           other.net == finding.net;
  });
  if (!is_told) list.push_back(finding);
}

void take_faults(const std::vector<Finding>& findings, SizeChoice& choice) {
  for (const Finding& finding : findings)
    if (counts_as(finding, Severity::fault) && finding.follows.empty())
      put_once(finding, choice.faults);
}

/// Takes what is said of the parts whose values are chosen, short of a fault.
void take_cautions(const std::vector<Finding>& findings, const Circuit& circuit,
                   const SizeRequest& request, SizeChoice& choice) {
  for (const Finding& finding : findings) {
    const bool is_own =
        std::any_of(request.keys.begin(), request.keys.end(), [&](const SizedKey& key) {
          return finding.part == circuit.parts[key.part].name;
        });
    if (is_own && finding.severity == Severity::caution && finding.follows.empty())
      put_once(finding, choice.cautions);
  }
}

// --- at rest ------------------------------------------------------------------------

/// Takes the goal's figure from what both witnesses saw of its state, if that tells.
bool take_seen_figure(const Circuit& circuit, const State& state, const Goal& goal,
                      const Verification& all, SizeChoice& choice) {
  const auto result =
      std::find_if(all.states.begin(), all.states.end(),
                   [&state](const StateResult& r) { return r.name == state.name; });
  if (result == all.states.end() || !result->agrees) return false;
  const auto engine = figure_seen(goal, engine_input(circuit, state, *result));
  const auto nodal = figure_seen(goal, check_input(circuit, state, *result));
  if (!engine || !nodal) return false;
  choice.engine = *engine;
  choice.nodal = *nodal;
  return true;
}

/// Asks both witnesses for the goal's figure.
void ask_figure(const Circuit& circuit, const State& state, const Goal& goal,
                const Witnesses& witnesses, SizeChoice& choice) {
  RestFigure figure(goal, circuit, state);
  choice.engine = figure.by(witnesses.engine);
  choice.nodal = figure.by(witnesses.nodal);
}

/// A choice as both witnesses have it at rest.
SizeChoice choice_at_rest(const Circuit& circuit, const SizeRequest& request,
                          const Witnesses& witnesses,
                          const std::vector<double>& values) {
  const Circuit changed = with_values(circuit, request, values);
  const Verification all =
      verify(changed, witnesses.engine, witnesses.nodal, {}, Supplies::as_described);
  SizeChoice choice;
  choice.values = values;
  choice.verdict = all.verdict;
  choice.agrees = choice.verdict <= Verdict::fault;
  for (const StateResult& state : all.states) {
    take_faults(state.findings, choice);
    take_cautions(state.findings, circuit, request, choice);
  }
  choice.engine = choice.nodal = std::nan("");
  if (request.state >= 0) {
    const State& state = changed.states[request.state];
    if (!take_seen_figure(changed, state, request.goal, all, choice))
      ask_figure(changed, state, request.goal, witnesses, choice);
  }
  choice.keeps = keeps_to(request.goal, choice.nodal);
  return choice;
}

// --- in runs ------------------------------------------------------------------------

void put_time(double seconds, const Goal& goal, SizeChoice& choice) {
  choice.nodal = seconds;
  choice.keeps = !std::isnan(seconds) && keeps_to(goal, seconds);
}

/// Takes what the nodal witness alone finds of a choice in a run.
void take_nodal_run(const RunResult& result, SizeChoice& choice) {
  choice.verdict = std::max(choice.verdict, result.verdict);
  choice.agrees = choice.agrees && result.agreement.agrees;
  take_faults(result.findings, choice);
}

/// Takes what both witnesses find of a choice in the goal's run. They have to agree on
/// the goal's time, too.
void take_goal_run(const RunResult& result, const Goal& goal, SizeChoice& choice) {
  take_nodal_run(result, choice);
  choice.engine = time_reached(goal, result.engine);
  put_time(time_reached(goal, result.nodal), goal, choice);
  const double may = kWaveTimeShare * result.timeline.span;
  const bool is_one_time =
      choice.engine == choice.nodal || std::abs(choice.engine - choice.nodal) <= may;
  if (!choice.agrees || is_one_time) return;
  choice.agrees = false;
  choice.verdict = Verdict::disagreement;
}

/// The goal's run with a choice's values, by both witnesses.
RunResult goal_run(const Circuit& circuit, const SizeRequest& request,
                   const Witnesses& witnesses, const std::vector<double>& values) {
  const Circuit changed = with_values(circuit, request, values);
  return verify_run(changed, request.goal.subject.run, witnesses.engine_in_time,
                    witnesses.nodal_in_time);
}

/// Takes what the nodal witness finds of a choice in all runs but the goal's.
void take_other_runs(OtherRuns runs, SizeChoice& choice) {
  choice.has_all_runs = true;
  for (RunResult& result : runs.results) {
    for (Finding& finding : result.findings)
      finding.message =
          fmt::format("in run {}: {}", quoted(result.name), finding.message);
    take_nodal_run(result, choice);
  }
}

/// Puts the times that the nodal witness finds into the candidates.
void put_times(const SizeRequest& request, Figures& figures,
               std::vector<SizeChoice>& candidates) {
  std::vector<std::vector<double>> choices;
  choices.reserve(candidates.size());
  for (const SizeChoice& c : candidates) choices.push_back(c.values);
  const std::vector<double> times = figures.at_each(choices);
  for (std::size_t k = 0; k < candidates.size(); ++k)
    put_time(times[k], request.goal, candidates[k]);
}

// --- the best -----------------------------------------------------------------------

/// Whether all values do, so that how near one is to the present one chooses.
bool is_any(const SizeRequest& request, const Sizing& sizing) {
  return !request.is_pair() && !sizing.exact && !request.yield;
}

/// The candidate to recommend by what is known so far (see find_size); -1 for none.
int best_candidate(const SizeRequest& request, const Sizing& sizing) {
  const Goal& goal = request.goal;
  const bool any = is_any(request, sizing);
  const auto distance = [&](const SizeChoice& c) {
    return any ? away(request, c.values) : std::abs(c.nodal - goal.want);
  };
  const double same = any ? 0.0 : blur(goal);
  const auto is_possible = [&](const SizeChoice& c) {
    return c.agrees && (any || !std::isnan(c.nodal)) &&
           (c.yield ? c.yield->works > 0 : c.keeps);
  };
  const auto is_better = [&](const SizeChoice& c, const SizeChoice& other) {
    if (c.faults.size() != other.faults.size())
      return c.faults.size() < other.faults.size();
    if (c.yield && other.yield && yields_more(*c.yield, *other.yield)) return true;
    if (c.yield && other.yield && yields_more(*other.yield, *c.yield)) return false;
    return distance(c) < distance(other) - same;
  };
  int best = -1;
  for (std::size_t k = 0; k < sizing.candidates.size(); ++k) {
    const SizeChoice& c = sizing.candidates[k];
    if (is_possible(c) && (best < 0 || is_better(c, sizing.candidates[best])))
      best = static_cast<int>(k);
  }
  return best;
}

}  // namespace

std::vector<SizeChoice> judged_at_rest(const Circuit& circuit,
                                       const SizeRequest& request,
                                       const Witnesses& witnesses,
                                       const Choices& choices) {
  constexpr double kNear = 0.05;
  const double want = request.goal.want;
  const bool is_in_run = request.state < 0;
  std::vector<SizeChoice> candidates;
  bool has_sound = false;
  for (std::size_t k = 0; k < choices.values.size(); ++k) {
    const bool is_shown = k < kPairsShown || choices.values[k] == choices.present;
    if (!is_shown && (has_sound || is_in_run)) break;
    SizeChoice c = choice_at_rest(circuit, request, witnesses, choices.values[k]);
    const bool is_sound = c.faults.empty() && c.agrees && c.keeps;
    has_sound = has_sound || is_sound;
    const bool is_near = std::abs(c.nodal - want) <= kNear * std::abs(want);
    if (is_shown || (is_sound && is_near)) candidates.push_back(std::move(c));
  }
  return candidates;
}

std::vector<std::vector<double>> judge_in_run(const Circuit& circuit,
                                              const SizeRequest& request,
                                              const Witnesses& witnesses,
                                              Figures& figures, Sizing& sizing) {
  std::vector<SizeChoice>& candidates = sizing.candidates;
  const bool any = is_any(request, sizing);
  if (any) {
    // Their runs tell the times, which choose nothing.
    for (SizeChoice& c : candidates) c.keeps = true;
  } else {
    put_times(request, figures, candidates);
  }
  const int likely = best_candidate(request, sizing);
  std::vector<std::vector<double>> at_ends;
  const auto judge_rest = [&] {
    for (int k = 0; k < static_cast<int>(candidates.size()); ++k) {
      if (k == likely || !candidates[k].keeps) continue;
      const Circuit changed = with_values(circuit, request, candidates[k].values);
      const RunResult result =
          judge_run_by_one(changed, request.goal.subject.run, witnesses.nodal_in_time);
      take_nodal_run(result, candidates[k]);
      if (any)
        put_time(time_reached(request.goal, result.nodal), request.goal, candidates[k]);
    }
    if (likely >= 0)
      take_other_runs(
          other_runs(circuit, request, witnesses, candidates[likely].values),
          candidates[likely]);
    for (const SizeChoice& c : candidates)
      at_ends.push_back(figures_at_ends(figures, circuit, request, c.values));
  };
  if (likely < 0) {
    judge_rest();
    return at_ends;
  }
  RunResult by_both;
  witnesses.side_by_side(2, [&, values = candidates[likely].values](std::size_t job) {
    if (job == 0)
      by_both = goal_run(circuit, request, witnesses, values);
    else
      judge_rest();
  });
  take_goal_run(by_both, request.goal, candidates[likely]);
  return at_ends;
}

OtherRuns other_runs(const Circuit& circuit, const SizeRequest& request,
                     const Witnesses& witnesses, const std::vector<double>& values) {
  const Circuit changed = with_values(circuit, request, values);
  std::vector<int> runs;
  for (int run = 0; run < static_cast<int>(circuit.runs.size()); ++run)
    if (request.state >= 0 || run != request.goal.subject.run) runs.push_back(run);
  OtherRuns other{values, std::vector<RunResult>(runs.size())};
  witnesses.side_by_side(runs.size(), [&](std::size_t k) {
    other.results[k] = judge_run_by_one(changed, runs[k], witnesses.nodal_in_time);
    let_go_of_waveforms(other.results[k]);
  });
  return other;
}

void recommend(const Circuit& circuit, const SizeRequest& request,
               const Witnesses& witnesses, std::optional<OtherRuns> known,
               Sizing& sizing) {
  for (;;) {
    sizing.recommended = best_candidate(request, sizing);
    if (sizing.recommended < 0) return;
    SizeChoice& best = sizing.candidates[sizing.recommended];
    if (!best.has_all_runs)
      take_other_runs(known && known->values == best.values
                          ? *std::move(known)
                          : other_runs(circuit, request, witnesses, best.values),
                      best);
    // Another one may come first for a fault in a run, of which the engine was not
    // asked: the dearest question, so the last.
    else if (request.state < 0 && std::isnan(best.engine))
      take_goal_run(goal_run(circuit, request, witnesses, best.values), request.goal,
                    best);
    else
      return;
  }
}

std::vector<double> figures_at_ends(Figures& figures, const Circuit& circuit,
                                    const SizeRequest& request,
                                    const std::vector<double>& values) {
  const std::vector<SizedKey>& keys = request.keys;
  std::vector<std::vector<double>> ends;  // Two of each value that moves.
  std::vector<std::size_t> moved;
  for (std::size_t k = 0; k < keys.size(); ++k) {
    const auto share =
        tolerance_of(circuit.parts[keys[k].part], keys[k].key, keys[k].series);
    if (!share) continue;
    moved.push_back(k);
    for (const double times : {1.0 - *share, 1.0 + *share}) {
      ends.push_back(values);
      ends.back()[k] *= times;
    }
  }
  std::vector<double> at_ends = figures.at_each(ends);
  if (moved.size() < 2) return at_ends;
  std::vector<double> lowest = values;
  std::vector<double> highest = values;
  for (std::size_t k = 0; k < moved.size(); ++k) {
    const std::size_t key = moved[k];
    const bool is_falling = at_ends[2 * k + 1] < at_ends[2 * k];
    lowest[key] = ends[2 * k + (is_falling ? 1 : 0)][key];
    highest[key] = ends[2 * k + (is_falling ? 0 : 1)][key];
  }
  for (const double together : figures.at_each({lowest, highest}))
    at_ends.push_back(together);
  return at_ends;
}

void put_band(const std::vector<double>& at_ends, SizeChoice& choice) {
  // What is left of voltages that cancel is no figure: a normal number at least.
  constexpr double kNothing = std::numeric_limits<double>::min();
  choice.least = choice.most = choice.nodal;
  for (double here : at_ends) {
    if (std::isnan(here)) continue;
    if (std::abs(here) < kNothing) here = 0.0;
    choice.least = std::min(choice.least, here);
    choice.most = std::max(choice.most, here);
  }
}

}  // namespace benchproof
