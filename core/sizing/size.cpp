#include "core/sizing/size.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

#include "core/sizing/detail/choices.h"
#include "core/sizing/detail/figures.h"
#include "core/sizing/detail/judging.h"
#include "core/sizing/detail/measure.h"
#include "core/sizing/detail/scale.h"
#include "core/sizing/detail/yields.h"

namespace benchproof {

bool Reach::moves() const {
  constexpr double kLeastShare = 1e-3;
  return most - least > kLeastShare * std::max(std::abs(most), std::abs(least));
}

bool Reach::has(double wanted) const { return least <= wanted && wanted <= most; }

std::optional<Reach> reach_in(const Circuit& circuit, const State& state,
                              const SizeRequest& request, const Solve& witness) {
  constexpr int kSteps = 5;
  const SizedKey& key = request.keys.front();
  const Scale scale(key, request.goal);
  Circuit tried = circuit;
  RestFigure figure(request.goal, tried, state);
  std::vector<double> figures;
  const std::size_t moved = request.is_same ? request.keys.size() : 1;
  for (int step = 0; step <= kSteps; ++step) {
    for (std::size_t k = 0; k < moved; ++k) {
      put_value(tried, request.keys[k],
                scale.value(static_cast<double>(step) / kSteps));
      figure.refresh(request.keys[k].part);
    }
    const double here = figure.by(witness);
    if (std::isfinite(here)) figures.push_back(here);
  }
  if (figures.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(figures.begin(), figures.end());
  return Reach{*low, *high};
}

int state_that_shows(const Circuit& circuit, const SizeRequest& request,
                     const Solve& witness) {
  int largest = -1;
  double most = 0.0;
  for (std::size_t k = 0; k < circuit.states.size(); ++k) {
    const State& state = circuit.states[k];
    if (!state.steady || says(state, request.keys)) continue;
    const auto reach = reach_in(circuit, state, request, witness);
    if (!reach || !reach->moves()) continue;
    if (reach->has(request.goal.want)) return static_cast<int>(k);
    const double size = std::max(std::abs(reach->most), std::abs(reach->least));
    if (largest >= 0 && !(size > most)) continue;
    largest = static_cast<int>(k);
    most = size;
  }
  return largest;
}

namespace {

/// The choice whose figure comes nearest to the goal.
std::optional<std::vector<double>> nearest(Figures& figures, const Goal& goal,
                                           const Choices& choices) {
  std::optional<std::vector<double>> best;
  double least = HUGE_VAL;
  for (const std::vector<double>& values : choices.values) {
    const double off = std::abs(figures.at(values) - goal.want);
    if (!(off < least)) continue;
    least = off;
    best = values;
  }
  return best;
}

/// Those with the largest shares, by value.
Choices best_of(const std::vector<ValuesYield>& yields) {
  constexpr std::size_t kYieldsShown = 5;
  Choices choices;
  for (std::size_t k = 0; k < std::min(yields.size(), kYieldsShown); ++k)
    choices.values.push_back(yields[k].values);
  std::sort(choices.values.begin(), choices.values.end());
  return choices;
}

void take_yields(const std::vector<ValuesYield>& yields,
                 std::vector<SizeChoice>& candidates) {
  for (SizeChoice& c : candidates)
    for (const ValuesYield& yield : yields)
      if (yield.values == c.values) c.yield = yield;
}

}  // namespace

Sizing find_size(const Circuit& circuit, const SizeRequest& request,
                 const Witnesses& witnesses) {
  if (request.keys.empty() || (request.is_pair() && request.keys.size() > 2))
    throw std::invalid_argument("one or two values can be chosen");
  for (const SizedKey& key : request.keys)
    if (!(key.least <= key.most)) throw std::invalid_argument("bounds out of order");
  const Goal& goal = request.goal;
  const bool is_in_run = request.state < 0;
  Figures figures(circuit, request, witnesses);
  Sizing sizing;
  sizing.reach_least = sizing.reach_most = std::nan("");
  sizing.present = figures.at({});
  Choices choices = find_choices(figures, request, sizing);
  const bool is_jumped = goal.relation == Goal::Relation::equal && sizing.jumps;
  if (request.yield && !is_jumped) {
    sizing.yields = count_yields(figures, circuit, request, witnesses, choices, sizing);
    choices = best_of(sizing.yields);
  }
  // While the engine is heard on states, the runs of the likely best are followed.
  const auto likely = is_in_run || is_jumped || circuit.runs.empty() ? std::nullopt
                      : sizing.yields.empty() ? nearest(figures, goal, choices)
                                              : std::optional(sizing.yields[0].values);
  std::optional<OtherRuns> known;
  witnesses.side_by_side(likely ? 2 : 1, [&](std::size_t job) {
    if (job == 0) {
      sizing.candidates = judged_at_rest(circuit, request, witnesses, choices);
      take_yields(sizing.yields, sizing.candidates);
    } else {
      known = other_runs(circuit, request, witnesses, *likely);
    }
  });
  std::vector<std::vector<double>> at_ends;
  if (is_jumped) {
    for (SizeChoice& c : sizing.candidates) {
      if (is_in_run) c.nodal = figures.at(c.values);
      c.keeps = false;
    }
  } else {
    if (is_in_run) at_ends = judge_in_run(circuit, request, witnesses, figures, sizing);
    recommend(circuit, request, witnesses, std::move(known), sizing);
  }
  for (std::size_t k = 0; k < sizing.candidates.size(); ++k) {
    SizeChoice& c = sizing.candidates[k];
    put_band(at_ends.empty() ? figures_at_ends(figures, circuit, request, c.values)
                             : at_ends[k],
             c);
  }
  return sizing;
}

}  // namespace benchproof
