#pragma once

#include <optional>

#include "core/circuit/circuit.h"

namespace benchproof {

/// What a strong pin has between it and its rail. Common practice, no source: 25 to 40
/// ohm in many chips. Ohm.
inline constexpr double kStrongOhms = 25.0;

/// The circuit with controllers whose outputs are as strong as any pin is; nothing
/// where all are so already, or none has outputs. The figures of the classes are those
/// of the weakest published pins, so that voltages come out low, and currents too:
/// whether something bears a pin's current is asked of this one as well.
[[nodiscard]] std::optional<Circuit> with_strong_pins(const Circuit& circuit);

}  // namespace benchproof
