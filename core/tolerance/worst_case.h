#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/copied_state.h"

namespace benchproof {

/// One end of what a gauge can show.
struct Extreme {
  double value = 0.0;            ///< By the nodal witness.
  std::vector<double> places;    ///< Of all spreads; what does not matter as described.
  std::optional<double> engine;  ///< As each witness has it, from a cold start.
  std::optional<double> nodal;
  bool agrees = false;  ///< Both witnesses, on the state at these places.
};

/// What a gauge can show in any copy.
struct WorstCase {
  Extreme least;
  Extreme most;
  /// Of each spread the difference that it makes alone, from its least to its most.
  std::vector<double> moves;
};

/// The worst case of every gauge of a state: the corner of all spreads by the slope of
/// each one alone, and then by what any one changed brings, at its ends and between
/// them, as long as that brings something. Without the witnesses' word.
[[nodiscard]] std::vector<WorstCase> worst_cases(const CopiedState& state);

/// Lets both witnesses solve each corner from a cold start.
void confirm(const CopiedState& state, const Solve& engine, const Solve& nodal,
             std::vector<WorstCase>& worst);

}  // namespace benchproof
