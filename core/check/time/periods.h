#pragma once

#include <optional>

#include "core/circuit/circuit.h"
#include "core/network/record.h"

namespace benchproof {

/// The stretch over which a run's figures are taken: from `after` to the end, cut to
/// the last whole periods where the run ends in PWM of one frequency.
[[nodiscard]] Stretch figure_stretch(const Circuit& circuit, const Run& run,
                                     double after);

/// The last period of a run that ends in PWM of one frequency; nothing of any other.
[[nodiscard]] std::optional<Stretch> last_period(const Circuit& circuit,
                                                 const Run& run);

}  // namespace benchproof
