#pragma once

#include <vector>

#include "core/circuit/circuit.h"
#include "core/verify/verify.h"

namespace benchproof {

/// The voltages by which a diagram of the circuit is ordered: of each net the mean over
/// the states that the witnesses agree on. Where there is none they are what they would
/// be if every part were one same resistor, but for the sources. Volt.
[[nodiscard]] std::vector<double> net_levels(const Circuit& circuit,
                                             const Verification& verification);

}  // namespace benchproof
