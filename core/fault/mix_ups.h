#pragma once

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

// What people take for each other: both who lists what may be built wrongly and who
// undoes a mistake goes by it.

/// Gives each part, with its index, in the description's order.
template <typename Look>
void each_part(const Circuit& circuit, Look&& look) {
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    look(static_cast<int>(k), circuit.parts[k]);
}

/// The two pins that stand in each other's place where a part is the wrong way round.
/// Nothing where it is the same both ways, or both are on one net.
[[nodiscard]] std::optional<std::pair<int, int>> poles_of(const Part& part);

/// The outputs of a controller, two by two, but those on one net.
[[nodiscard]] std::vector<std::pair<int, int>> output_pairs(const Part& part);

}  // namespace benchproof
