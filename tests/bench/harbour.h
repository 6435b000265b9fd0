#pragma once

#include <array>
#include <cstddef>

#include "core/network/network.h"

namespace benchproof::bench {

/// The numbers of nets that are timed.
inline constexpr std::array kSizes{5, 15, 30, 60, 100, 300, 1000};

/// A lit harbour of `nets` nets besides ground (at least 4): a 12 V source, a guard
/// diode and a 5 V regulator feed stations of five nets each, made of an LED on the
/// rail, a divider, and a transistor that the divider switches on with an LED in its
/// collector; what is left over is filled with LEDs. Always the same for the same
/// number. Invented; values from the E12 series.
[[nodiscard]] Network harbour(int nets);

/// The network after a change: the resistor of that number is 5 % larger.
[[nodiscard]] Network with_one_change(Network network, std::size_t resistor);

}  // namespace benchproof::bench
