#include "core/tolerance/tolerance.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <numeric>
#include <utility>

#include "core/base/nine_digits.h"
#include "core/check/expect/expectations.h"

namespace benchproof {
namespace {

/// Copies with which a change that might help is tried.
constexpr std::size_t kTried = 4'000;
constexpr double kBetterTolerance = 0.01;
constexpr std::size_t kMostHelps = 5;
constexpr std::size_t kMostByBoth = 20;
/// What has less to do with copies that fail is not worth a better part.
constexpr double kLeastBlame = 0.02;

/// States with all that measuring their copies takes.
struct Copied {
  std::deque<PosedState> posed;
  std::vector<Verdict> verdicts;
  std::deque<CopiedState> states;

  [[nodiscard]] std::vector<const CopiedState*> pointers() const {
    std::vector<const CopiedState*> list;
    for (const CopiedState& state : states) list.push_back(&state);
    return list;
  }
};

Copied copied(const Circuit& circuit, const Verification& nominal,
              const std::vector<Spread>& spreads) {
  Copied all;
  for (const StateResult& result : nominal.states) {
    if (!result.agrees) continue;
    all.posed.emplace_back(circuit, state_of(circuit, result),
                           all.posed.empty() ? nullptr : all.posed.back().structure());
    all.verdicts.push_back(result.verdict);
    all.states.emplace_back(all.posed.back(), spreads, seen_by_nodal(result));
  }
  return all;
}

/// Whether the usual way finds a fault in a copy of a state, as seen.
bool is_faulty(const CopiedState& state, const double* places, const SeenState& seen) {
  const Circuit circuit = circuit_at(state, places);
  CheckInput posed = check_input(state.posed(), seen);
  const CheckInput input = check_input(circuit, posed.state, posed.parts,
                                       std::move(posed.phases), posed.average);
  const std::vector<ExpectationResult> expectations = hold_expectations(input, input);
  const bool holds = std::all_of(expectations.begin(), expectations.end(),
                                 [](const ExpectationResult& e) { return e.holds; });
  return !holds || verdict_of(run_checks(input)) == Verdict::fault;
}

/// Whether a copy fails in any state, by the usual way. No answer is a failure.
bool fails_again(const Copied& copied, const double* places, const Solve& witness) {
  return std::any_of(copied.states.begin(), copied.states.end(),
                     [&](const CopiedState& state) {
                       const auto seen = seen_at(state, places, witness);
                       return !seen || is_faulty(state, places, *seen);
                     });
}

JudgedAgain judge_again(const Copied& copied, const std::vector<Spread>& spreads,
                        const CopiesResult& copies, std::uint64_t seed,
                        const Solve& engine, const Solve& nodal) {
  JudgedAgain again;
  Draw draw(spreads, seed);
  std::vector<double> places(spreads.size());
  for (const std::size_t copy : copies.failing) {
    draw.places(copy, places.data());
    ++again.asked;
    const bool by_nodal = fails_again(copied, places.data(), nodal);
    again.fail += by_nodal ? 1 : 0;
    if (again.asked_both == kMostByBoth) continue;
    ++again.asked_both;
    again.fail_both += by_nodal && fails_again(copied, places.data(), engine) ? 1 : 0;
  }
  return again;
}

/// The worst cases of each state, with the witnesses' word.
std::vector<std::vector<WorstCase>> confirmed_worst(const Copied& copied,
                                                    const Solve& engine,
                                                    const Solve& nodal,
                                                    const SideBySide& side_by_side) {
  std::vector<std::vector<WorstCase>> worst_of(copied.states.size());
  side_by_side(worst_of.size(),
               [&](std::size_t s) { worst_of[s] = worst_cases(copied.states[s]); });
  for (std::size_t s = 0; s < worst_of.size(); ++s)
    confirm(copied.states[s], engine, nodal, worst_of[s]);
  return worst_of;
}

/// Whether a part is sold with a better tolerance than it has.
bool can_be_better(const Spread& spread, const Circuit& circuit) {
  return spread.key == "value" && spread.part >= 0 &&
         circuit.parts[static_cast<std::size_t>(spread.part)].kind ==
             KindId::resistor &&
         spread.most - spread.least >
             2.001 * kBetterTolerance * std::abs(spread.nominal);
}

/// The spreads with some of them at the better tolerance.
std::vector<Spread> better(std::vector<Spread> spreads,
                           const std::vector<std::size_t>& which) {
  for (const std::size_t k : which) {
    const double off = kBetterTolerance * std::abs(spreads[k].nominal);
    spreads[k].least = spreads[k].nominal - off;
    spreads[k].most = spreads[k].nominal + off;
  }
  return spreads;
}

double share_with(const Circuit& circuit, const Verification& nominal,
                  const std::vector<Spread>& spreads, std::uint64_t seed,
                  const SideBySide& side_by_side) {
  const Copied there = copied(circuit, nominal, spreads);
  const CopiesResult result =
      measure_copies(there.pointers(), kTried, seed, side_by_side);
  return static_cast<double>(result.works) / static_cast<double>(result.copies);
}

/// How much each spread has to do with copies that fail.
std::vector<double> blame(const ToleranceResult& result) {
  std::vector<double> blame(result.spreads.size(), 0.0);
  for (const StateTolerance& state : result.states)
    for (const GaugeTolerance& gauge : state.gauges)
      for (const Driver& driver : gauge.drivers)
        blame[driver.spread] += driver.share * static_cast<double>(gauge.copies.failed);
  return blame;
}

/// Tries better resistors: those that have most to do with it one by one, then all.
std::vector<Help> helps_of(const Circuit& circuit, const Verification& nominal,
                           const ToleranceResult& result,
                           const SideBySide& side_by_side) {
  const std::vector<double> blamed = blame(result);
  const double least = kLeastBlame * std::accumulate(blamed.begin(), blamed.end(), 0.0);
  std::vector<std::size_t> candidates;
  std::vector<std::size_t> all;
  for (std::size_t k = 0; k < result.spreads.size(); ++k) {
    if (!can_be_better(result.spreads[k], circuit)) continue;
    all.push_back(k);
    if (blamed[k] > least) candidates.push_back(k);
  }
  std::stable_sort(candidates.begin(), candidates.end(),
                   [&blamed](std::size_t a, std::size_t b) {
                     return nine_digits(blamed[a]) > nine_digits(blamed[b]);
                   });
  if (candidates.size() > kMostHelps) candidates.resize(kMostHelps);
  const double now = static_cast<double>(result.works) /
                     static_cast<double>(std::max<std::size_t>(1, result.copies));
  std::vector<Help> helps;
  const auto attempt = [&](const std::vector<std::size_t>& which, std::string change) {
    const double share = share_with(circuit, nominal, better(result.spreads, which),
                                    result.seed, side_by_side);
    constexpr double kLeastGain = 0.001;
    if (share > now + kLeastGain) helps.push_back({std::move(change), share});
  };
  for (const std::size_t k : candidates) {
    const int part = result.spreads[k].part;
    attempt({k}, fmt::format("{}.tolerance=1%",
                             circuit.parts[static_cast<std::size_t>(part)].name));
  }
  if (candidates.size() > 1) attempt(all, "tolerance=1% for all resistors");
  std::stable_sort(helps.begin(), helps.end(),
                   [](const Help& a, const Help& b) { return a.share > b.share; });
  return helps;
}

}  // namespace

ToleranceResult tolerance(const Circuit& circuit, const Verification& nominal,
                          const ToleranceWishes& wishes, const Solve& engine,
                          const Solve& nodal, const SideBySide& side_by_side) {
  ToleranceResult result;
  result.spreads = spreads_of(circuit);
  result.seed = wishes.seed;
  result.copies = wishes.copies;
  const Copied all = copied(circuit, nominal, result.spreads);
  for (const StateResult& state : nominal.states)
    if (!state.agrees) result.left_out.push_back(state.name);
  for (std::size_t k = 0; k < result.spreads.size(); ++k)
    result.matters.push_back(
        std::any_of(all.states.begin(), all.states.end(),
                    [k](const CopiedState& state) { return state.is_moved_by(k); }));
  CopiesResult copies;
  std::vector<std::vector<WorstCase>> worst_of(all.states.size());
  side_by_side(2, [&](std::size_t job) {
    if (job == 0)
      copies = measure_copies(all.pointers(), wishes.copies, wishes.seed, side_by_side);
    else
      worst_of = confirmed_worst(all, engine, nodal, side_by_side);
  });
  result.works = copies.works;
  result.fails_at_rest = copies.fails;
  result.unsolved = copies.unsolved;
  result.handed_on = copies.handed_on;
  result.solved = copies.solved;
  result.yield = share_of(copies.works, copies.copies);
  for (std::size_t s = 0; s < all.states.size(); ++s) {
    const CopiedState& state = all.states[s];
    StateTolerance& told = result.states.emplace_back();
    told.name = state.posed().state().name;
    told.verdict = all.verdicts[s];
    std::vector<WorstCase>& worst = worst_of[s];
    for (std::size_t g = 0; g < state.gauges().size(); ++g) {
      GaugeTolerance& gauge = told.gauges.emplace_back();
      gauge.gauge = state.gauges()[g];
      gauge.nominal = state.nominal()[g];
      gauge.drivers = drivers_of(result.spreads, worst[g].variances);
      gauge.worst = std::move(worst[g]);
      gauge.copies = copies.states[s][g];
    }
  }
  result.again = judge_again(all, result.spreads, copies, wishes.seed, engine, nodal);
  if (copies.works < copies.copies)
    result.helps = helps_of(circuit, nominal, result, side_by_side);
  return result;
}

}  // namespace benchproof
