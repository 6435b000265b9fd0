#pragma once

#include <cstdint>

#include "core/network/timeline.h"

namespace benchproof::test {

/// A random course of events with coils that transistors switch, drawn only from seed
/// and index: one to three stages on a supply of 3 V to 24 V, each a coil, a bipolar or
/// MOS transistor below or above it, a resistor before its base or gate, and what
/// guards it (or nothing); each switched up to ten times. A few resistors, capacitors
/// and diodes lie between the stages, mostly at the supply's side. Spans of 0.1 ms to
/// 0.1 s.
[[nodiscard]] Timeline coil_timeline(std::uint64_t seed, std::uint64_t index);

}  // namespace benchproof::test
