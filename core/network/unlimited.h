#pragma once

#include <vector>

#include "core/network/network.h"

namespace benchproof {

/// More than this through a junction counts as a current that nothing limits. Ampere.
inline constexpr double kUnlimitedAmps = 100.0;

/// Looks for a loop of sources, inductors and junctions in which nothing limits the
/// current: a source drives more than the junctions in its way may hold at
/// kUnlimitedAmps. Returns the parts in the loop, each once, those with a junction
/// first; empty where there is no such loop.
///
/// A source fixes the difference of two node voltages, a junction bounds it; such
/// demands can be met if and only if no cycle of them has a negative sum [Cormen,
/// Leiserson, Rivest, Stein, "Introduction to Algorithms", 3rd ed., theorem 24.9,
/// difference constraints], which the algorithm of Bellman and Ford finds out.
[[nodiscard]] std::vector<int> unlimited_loop(const Network& network);

}  // namespace benchproof
