#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/base/preferred.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/witnesses.h"
#include "core/sizing/goal.h"
#include "core/verify/verify.h"

namespace benchproof {

/// A value to be chosen: what stands behind a part's key.
struct SizedKey {
  int part = -1;
  std::string key;
  Unit unit = Unit::none;
  double least = 0.0;  ///< Where it is looked for, both ends included.
  double most = 0.0;
  std::optional<double> present;  ///< As the description has it.
  std::optional<Series> series;   ///< Of a pair: its own, in place of the request's.
};

/// While a value is looked for, what comes later than so many times the time wanted is
/// as good as never.
inline constexpr double kInGoodTime = 1.5;

/// Reads "quay_r" (its `value`) or "trim.turn". Bounds are those usual in the trade for
/// resistors, capacitors and inductors, else the key's own where they are narrow, else
/// within those a hundredth to a hundred times the present value; without one they are
/// no numbers. What is wrong with it instead, in words.
[[nodiscard]] std::variant<SizedKey, std::string> read_sized_key(const Circuit& circuit,
                                                                 std::string_view text);

/// Whether the key is a voltage that a supply makes, of which kMostRangeVolts is the
/// most that is allowed.
[[nodiscard]] bool is_supply_voltage(KindId kind, std::string_view key);

/// The circuit with another value behind the key.
void put_value(Circuit& circuit, const SizedKey& key, double value);

struct SizeRequest {
  std::vector<SizedKey> keys;  ///< One, or two.
  Goal goal;
  int state = -1;                ///< At rest in this state; -1 for a run's goal.
  std::optional<Series> series;  ///< Nothing: any value can be had.
};

/// Whether a state itself says what one of the values is.
[[nodiscard]] bool says(const State& state, const std::vector<SizedKey>& keys);

/// Whether the goal's figure moves with the first key's value in a state.
[[nodiscard]] bool is_shown_by(const Circuit& circuit, const State& state,
                               const SizeRequest& request, const Solve& witness);

/// The first steady state that shows it and does not say one of the values itself; -1
/// if there is none.
[[nodiscard]] int state_that_shows(const Circuit& circuit, const SizeRequest& request,
                                   const Solve& witness);

/// One choice, as both witnesses have it.
struct SizeChoice {
  std::vector<double> values;  ///< One per key.
  /// The goal's figure; infinite for a level that is never reached. For a run's goal
  /// the engine is asked of the recommended choice only; not a number for the others.
  double engine = 0.0;
  double nodal = 0.0;
  /// The figure while every value moves over its part's tolerance, by the nodal
  /// witness.
  double least = 0.0;
  double most = 0.0;
  bool agrees = false;  ///< The witnesses, in every state; in the goal's run too.
  bool keeps = false;   ///< The figure is on the right side of a bound.
  /// On all steady states and the goal's run; of the recommended choice on all runs, of
  /// which the nodal witness alone is asked.
  Verdict verdict = Verdict::good;
  /// Of any state or run, each check and part once. A message about another run than
  /// the goal's names it.
  std::vector<Finding> faults;
  /// At rest, of the parts whose values are chosen, likewise.
  std::vector<Finding> cautions;
  bool has_all_runs = false;  ///< All runs were looked at.
};

/// What was found.
struct Sizing {
  double present = 0.0;  ///< The goal's figure as the description has it, likewise.
  /// The value that meets the goal to 1e-9; of several the one nearest to the present.
  std::optional<double> exact;
  bool jumps = false;          ///< There it is not met: the figure jumps past it.
  std::vector<double> others;  ///< Further exact values.
  double reach_least = 0.0;    ///< What the figure takes between the bounds.
  double reach_most = 0.0;
  bool misses = false;         ///< Somewhere between them a run's level is not reached.
  bool has_no_choice = false;  ///< No value of the series lies between the bounds.
  std::vector<SizeChoice> candidates;  ///< By value; pairs by how near they come.
  int recommended = -1;                ///< Of the candidates; -1 for none.
};

/// How far a chosen value may be off, as a share: what its part says, or else what the
/// catalogue assumes, and no more than parts of its series are sold with: E48 2 %, E96
/// 1 %, E192 0.5 % (IEC 60063, from memory). Nothing where the kind has no tolerance.
[[nodiscard]] std::optional<double> tolerance_of(const Circuit& circuit,
                                                 const SizedKey& key);

/// Which standard values meet a goal.
///
/// One key: the exact value by bracketing (eight points a decade; what crosses the goal
/// twice in less is not seen) and bisection, then the nearest values of the series on
/// both sides of it. For a run's goal from the present value on, along the line through
/// the last two looks in logarithms, or else by quarters of a decade; the first value
/// that is met. Two keys: for each value of the first the nearest ones of the second,
/// found by bisection in the series wherever the figure crosses the goal between nine
/// of its values; the five pairs that come nearest, of equal ones those whose values
/// are nearest to the present ones; where each of them has a fault the nearest without
/// one besides, within 5 % of the goal. To a bound that the present values keep to
/// these are a choice too. Recommended is the nearest of those with the fewest faults
/// on which the witnesses agree, on the right side of a bound; where every value meets
/// the goal the one nearest to the present; none where an equation is not met, for the
/// figure jumps past it or, of a pair, does not get there. Whether it has a fault in
/// any other run is looked at with the nodal witness.
///
/// @throws std::invalid_argument unless one or two keys are asked for, with bounds in
///         order.
[[nodiscard]] Sizing find_size(Circuit circuit, const SizeRequest& request,
                               const Witnesses& witnesses);

}  // namespace benchproof
