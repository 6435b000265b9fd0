#pragma once

#include <cstddef>
#include <vector>

#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// As many pairs are shown.
inline constexpr std::size_t kPairsShown = 5;
/// Among as many pairs one without a fault is looked for, where all shown have some.
inline constexpr std::size_t kPairsKept = 40;

/// The pairs of standard values that come nearest to the goal, the nearest first, at
/// most kPairsKept. Notes what the figure reaches. Empty where the goal is out of
/// reach.
[[nodiscard]] std::vector<std::vector<double>> nearest_pairs(Figures& figures,
                                                             const SizeRequest& request,
                                                             Sizing& sizing);

}  // namespace benchproof
