#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "core/circuit/circuit.h"

namespace benchproof {

/// What a figure may lie between, the ends included.
struct GoalBand {
  std::optional<double> least;
  std::optional<double> most;
};

/// What a value is chosen for: one figure of a circuit, and what it should be.
struct Goal {
  enum class Measure {
    quantity,       ///< A net's voltage; a part's voltage, current, power, temperature.
    brightness,     ///< An LED's current over its rated current.
    time_constant,  ///< A capacitor's, with what stands across it at rest. Second.
    crossing,       ///< When a net reaches a level in a run. Second.
  };
  enum class Relation { equal, at_most, at_least };

  Measure measure = Measure::quantity;
  Relation relation = Relation::equal;
  /// Net or part, pin and quantity; of a crossing the run and the level too.
  Expectation subject;
  double want = 0.0;  ///< In `unit`.
  /// Of an equation: how far off is fine, where that is told.
  std::optional<GoalBand> band;
  Unit unit = Unit::none;
  std::string figure;  ///< "the current of 'quay'": what is measured, for people.
};

/// Reads a goal: `SUBJECT QUANTITY = VALUE`, with <= or >= for a bound.
///
///     quay current = 8 mA           a part's; PART.PIN where it has more than two pins
///     rail voltage = 5 V            a net's against ground, or a part's own
///     tap to rail voltage = 2 V     between two nets
///     quay brightness = 40%         an LED's current over its rated current
///     delay time-constant = 10 ms   a capacitor's
///     reset reaches 2.5 V = 100 ms  a net's, in the run named `run`
///
/// After an equation's value may stand how far off is fine: `within 10%` of the value,
/// or `within 0.2 mA`.
///
/// Returns what is wrong with it instead, in words.
[[nodiscard]] std::variant<Goal, std::string> read_goal(const Circuit& circuit,
                                                        std::string_view text,
                                                        std::string_view run);

/// "=", "<=" or ">=".
[[nodiscard]] std::string_view sign(Goal::Relation relation);

/// What the goal's figure may lie between. Neither end is there for an equation that
/// does not tell how far off is fine.
[[nodiscard]] GoalBand band_of(const Goal& goal);

/// The band in which the description expects the goal's figure in a state; nothing
/// where it expects none, or one that does not have the value that is wanted.
[[nodiscard]] std::optional<GoalBand> expected_band(const Circuit& circuit,
                                                    const Goal& goal,
                                                    std::string_view state);

/// Whether a value keeps to the goal's bound or band; an equation without a band asks
/// only that there is one.
/// A level that is never reached, at an infinite time, is reached late enough.
[[nodiscard]] bool keeps_to(const Goal& goal, double value);

/// Figures closer than this are one: a divider of ten times the values gives the same,
/// but for rounding.
[[nodiscard]] double blur(const Goal& goal);

/// Whether the figure is the power of a supply, which is told as what it delivers:
/// above 0 then.
[[nodiscard]] bool is_delivered(const Circuit& circuit, const Goal& goal);

}  // namespace benchproof
