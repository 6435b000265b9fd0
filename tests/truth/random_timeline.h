#pragma once

#include <cstdint>

#include "core/network/timeline.h"

namespace benchproof::test {

/// A random course of events: the random network of the same seed and index, with one
/// or two capacitors where it has none, its grounded or floating sources ramped down
/// and back, and one resistor switched to a higher value for a fifth of the span.
/// Spans of 0.1 ms to 1 s.
[[nodiscard]] Timeline random_timeline(std::uint64_t seed, std::uint64_t index);

}  // namespace benchproof::test
