#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/states/copied_state.h"

namespace benchproof {

/// One end of what a gauge can show.
struct Extreme {
  double value = 0.0;            ///< By the nodal witness.
  std::vector<double> places;    ///< Of all spreads; what does not matter as described.
  std::vector<double> values;    ///< What each spread's number is there, in this state.
  bool fails = false;            ///< Past the gauge's limits, as they are there.
  std::optional<double> engine;  ///< As each witness has it, from a cold start.
  std::optional<double> nodal;
  bool agrees = false;  ///< Both witnesses, on the state at these places.
};

/// What a gauge can show in any copy.
struct WorstCase {
  Extreme least;
  Extreme most;
  /// Of each spread, with all that share its draw, the difference from its least to its
  /// most while all else is as described ...
  std::vector<double> moves;
  /// ... and the variance that it makes over copies.
  std::vector<double> variances;
};

/// The worst case of every gauge of a state. It begins at the corner by the slope of
/// each draw alone and goes on to whatever is worse when any one is changed, to its
/// ends and between them. Where a gauge turns round along a draw, or some corner drawn
/// at random is worse still, it begins there as well. Without the witnesses' word.
[[nodiscard]] std::vector<WorstCase> worst_cases(const CopiedState& state);

/// Lets both witnesses solve each corner from a cold start.
void confirm(const CopiedState& state, const Solve& engine, const Solve& nodal,
             std::vector<WorstCase>& worst);

}  // namespace benchproof
