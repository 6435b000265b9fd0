#pragma once

#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// A circuit as far as it is built, and where what is left of it stands in the whole.
struct AsBuilt {
  Circuit circuit;
  std::vector<int> parts;  ///< Of each part of the whole its index here, or -1.
  std::vector<int> nets;   ///< Of each net likewise.
  /// Whether it can be solved at all: something is there, and it is wired soundly.
  bool is_whole = false;
};

/// The circuit with the parts that are there (one flag a part), in the same states.
/// What nothing joins to ground or to a source yet carries no current, and is left out
/// too. So are expectations, runs and variants: they are of the whole.
[[nodiscard]] AsBuilt as_built(const Circuit& whole, const std::vector<bool>& is_there);

}  // namespace benchproof
