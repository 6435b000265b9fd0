#pragma once

#include <optional>

#include "core/circuit/circuit.h"

namespace benchproof {

/// The light of an LED or filament lamp as a share of what it gives at its rating, from
/// its average current (ampere) and power (watt). That of an LED goes with its current;
/// that of a filament with the 2.2nd power of what it takes up (from memory: makers
/// give the 3.4th to 3.6th power of the voltage, at 1.55 to 1.6 for the power).
/// Nothing where the part gives no light, or where its rating is not known.
[[nodiscard]] std::optional<double> light_share(const Part& part, double amps,
                                                double watts);

}  // namespace benchproof
