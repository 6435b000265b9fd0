#pragma once

#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// Faults in how a circuit is joined up that make it unsolvable whatever the values: a
/// net without a DC path to ground, a current source whose current has no way back,
/// ideal sources in a loop, a supply whose plus and minus are joined. All states are
/// looked at.
///
/// Every part but a capacitor and a current source is a DC path between all its pins:
/// what is off (open switches and outputs, inputs, gates, junctions in reverse) still
/// leaks. So do polarised capacitors in series. Ideal at rest are voltage sources,
/// regulated supplies, and inductors without `dcr`.
[[nodiscard]] std::vector<Diagnostic> check_structure(const Circuit& circuit);

/// The zeros of the groups of nets that no DC path joins to ground, and in which a
/// source stands.
[[nodiscard]] std::vector<LocalZero> local_zeros(const Circuit& circuit);

}  // namespace benchproof
