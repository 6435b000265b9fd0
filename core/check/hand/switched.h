#pragma once

#include <optional>

#include "core/catalogue/pins.h"
#include "core/check/hand/wiring.h"

namespace benchproof {

/// What lies between a transistor's collector or drain and the end that feeds it, where
/// nothing else hangs there but a diode across it that blocks (a coil's).
[[nodiscard]] std::optional<Chain> switched_load(const Wiring& wiring, int transistor,
                                                 double sign);

/// The sum of a chain's constant drops; nothing where one is not known.
[[nodiscard]] std::optional<double> drop_sum(const Wiring& wiring, const Chain& chain);

}  // namespace benchproof
