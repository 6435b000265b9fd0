#pragma once

#include "core/circuit/circuit.h"

namespace benchproof::fuzz {

/// Whether a circuit is small enough to be solved thousands of times.
[[nodiscard]] inline bool is_small(const Circuit& circuit) {
  std::size_t phases = 0;
  for (const State& state : circuit.states) phases += phase_count(state);
  return circuit.parts.size() <= 30 && phases <= 12;
}

}  // namespace benchproof::fuzz
