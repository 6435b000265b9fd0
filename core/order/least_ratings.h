#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/rest/check_input.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// How much of a rating may be used; nothing: as much as the checks let pass without a
/// caution. Shares above 0, up to 1.
struct Derating {
  std::optional<double> power = {};    ///< Of resistors and trimmers.
  std::optional<double> voltage = {};  ///< Of capacitors.
};

/// The least rating with which a part passes its check.
struct LeastRating {
  std::string_view key;       ///< Of the rating in a description: "power".
  std::string_view quantity;  ///< In words: "power", "reverse voltage".
  std::string_view check;     ///< The check that it is for: "resistor-power".
  Unit unit = Unit::none;
  double load = 0.0;   ///< The most that was met; never below 0.
  int part = -1;       ///< Where it was met ...
  std::string state;   ///< ... and in which state ...
  std::string phase;   ///< ... and phase of PWM, if in one.
  double share = 1.0;  ///< Of the rating that may be used.
  double least = 0.0;  ///< What the rating must be: load / share, and more where
                       ///< the surroundings are hot; infinite where none will do.
  /// The least rating sold that is enough, or nothing where even the largest is not.
  std::optional<double> sold;
  bool is_graded = false;     ///< Whether such parts are sold by rating: `sold` counts.
  std::optional<Figure> has;  ///< The part's own rating, assumed ones included.
  bool is_enough = false;     ///< It has one, and that one passes.
};

/// The least ratings of a part in one state, in the order of their importance; none for
/// kinds whose ratings nothing here bears on. What lasts is looked at, not a surge.
[[nodiscard]] std::vector<LeastRating> least_ratings(const CheckInput& input, int part,
                                                     const Derating& derating);

}  // namespace benchproof
