#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/base/preferred.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/witnesses.h"
#include "core/sizing/goal.h"
#include "core/sizing/sized_key.h"
#include "core/tolerance/copy/share.h"
#include "core/verify/verify.h"

namespace benchproof {

/// While a value is looked for, what comes later than so many times the time wanted is
/// as good as never.
inline constexpr double kInGoodTime = 1.5;

/// Values are to be chosen by how many copies of the circuit do what is wanted.
struct YieldWish {
  std::size_t copies = 100'000;
  std::uint64_t seed = 1;  ///< Which series of copies.
};

/// What is asked: values of which keys meet a goal.
struct SizeRequest {
  std::vector<SizedKey> keys;  ///< One; two; or any number that have one value.
  bool is_same = false;        ///< All keys have the same value, and the same bounds.
  Goal goal;
  int state = -1;                ///< At rest in this state; -1 for a run's goal.
  std::optional<Series> series;  ///< Nothing: any value can be had.
  /// For a goal at rest with a band, and values of a series.
  std::optional<YieldWish> yield;

  /// Whether two values are looked for, not one.
  [[nodiscard]] bool is_pair() const { return keys.size() > 1 && !is_same; }
  /// One value for each key, where one is looked for.
  [[nodiscard]] std::vector<double> each(double value) const {
    return std::vector<double>(keys.size(), value);
  }
};

/// What the goal's figure takes in a state while the first key's value, or that of all
/// keys, goes from bound to bound, looked at in a few places.
struct Reach {
  double least = 0.0;
  double most = 0.0;
  /// Whether the figure moves with the value.
  [[nodiscard]] bool moves() const;
  /// Whether it is on both sides of a figure: there the value decides.
  [[nodiscard]] bool has(double wanted) const;
};

/// Nothing where no value gives an answer.
[[nodiscard]] std::optional<Reach> reach_in(const Circuit& circuit, const State& state,
                                            const SizeRequest& request,
                                            const Solve& witness);

/// The first steady state that has the goal within reach and does not say one of the
/// values itself. Without one, the state in which the figure moves and is largest: in
/// others what feeds the part may be off. -1 if it moves in none.
[[nodiscard]] int state_that_shows(const Circuit& circuit, const SizeRequest& request,
                                   const Solve& witness);

/// Of how many copies values keep to the goal's band and work (see which_work).
struct ValuesYield {
  std::vector<double> values;  ///< One per key.
  double nominal = 0.0;        ///< The goal's figure, by the nodal witness.
  std::size_t copies = 0;      ///< So many were counted ...
  std::size_t works = 0;       ///< ... of which so many do.
  Share share;
};

/// Whether values come before others: of what was left out with fewer copies others are
/// known to be better; of as many copies more work.
[[nodiscard]] bool yields_more(const ValuesYield& one, const ValuesYield& other);

/// One choice, as both witnesses have it.
struct SizeChoice {
  std::vector<double> values;  ///< One per key.
  /// The goal's figure; infinite for a level that is never reached. For a run's goal
  /// the engine is asked about the recommended choice only: of the others its figure is
  /// not a number.
  double engine = 0.0;
  double nodal = 0.0;
  /// The figure while every value moves over its part's tolerance, by the nodal
  /// witness.
  double least = 0.0;
  double most = 0.0;
  bool agrees = false;  ///< The witnesses do, in every state and in the goal's run.
  bool keeps = false;   ///< The figure is on the right side of a bound.
  /// On all steady states and the goal's run. The recommended choice is judged in all
  /// other runs too, by the nodal witness alone.
  Verdict verdict = Verdict::good;
  /// In any state or run, each check and part once. A message about another run than
  /// the goal's names it.
  std::vector<Finding> faults;
  /// At rest, about the parts whose values are chosen, each check and part once.
  std::vector<Finding> cautions;
  bool has_all_runs = false;         ///< It was judged in all runs.
  std::optional<ValuesYield> yield;  ///< Where copies were counted.
};

/// What was found.
struct Sizing {
  /// The goal's figure with the values of the description; infinite for a level that is
  /// never reached.
  double present = 0.0;
  /// The value that meets the goal to 1e-9; of several the one nearest to the present.
  std::optional<double> exact;
  bool jumps = false;          ///< The figure jumps past the goal at `exact`.
  std::vector<double> others;  ///< Further exact values.
  double reach_least = 0.0;    ///< What the figure takes between the bounds.
  double reach_most = 0.0;
  bool misses = false;         ///< Somewhere between them a run's level is not reached.
  bool has_no_choice = false;  ///< No value of the series lies between the bounds.
  /// Of all values of which copies were counted: the best first, those that were left
  /// out with fewer copies last.
  std::vector<ValuesYield> yields;
  std::vector<SizeChoice> candidates;  ///< By value; pairs by how near they come.
  int recommended = -1;                ///< Of the candidates; -1 for none.
};

/// Looks for the standard values that meet a goal.
///
/// One value, at rest: the exact one comes from bracketing (eight points a decade; what
/// crosses the goal twice in less is not seen) and bisection. The choices are the
/// values of the series next to it on both sides.
///
/// One value, for a run's goal: the search begins at the present value and goes along
/// the line through the last two trials in logarithms, or else by quarters of a decade.
/// It ends at the first value that meets the goal.
///
/// Two values: each value of the first is tried with the values of the second that come
/// nearest, which bisection in the series finds wherever the figure crosses the goal
/// between nine of them. The choices are the five pairs that come nearest, and of equal
/// ones those whose values are nearest to the present ones. If each of them has a
/// fault, the nearest pair without one is added, if it is within 5 % of the goal.
///
/// If the present values keep to the goal's bound, they are a choice too. If every
/// value meets the goal, the choices are the outermost values and the present one.
///
/// Recommended is, of the choices on which the witnesses agree and which are on the
/// right side of a bound, the nearest to the goal of those with the fewest faults; if
/// every value meets the goal, the nearest to the present value. Nothing is recommended
/// where an equation is not met: the figure jumps past it or, of a pair, does not get
/// there. The nodal witness judges the recommended choice in all other runs, too.
///
/// Where the yield is wished for, the choices are those of the values near to the goal
/// with which the most copies keep to its band and work, and recommended is, of those
/// on which the witnesses agree and with the fewest faults, the one with the largest
/// share; of equal ones the one whose figure is nearest to the goal. Nothing is
/// recommended where no copy works.
///
/// @throws std::invalid_argument unless one or two values are asked for, with bounds
///         in order.
[[nodiscard]] Sizing find_size(const Circuit& circuit, const SizeRequest& request,
                               const Witnesses& witnesses);

}  // namespace benchproof
