#pragma once

#include <string>
#include <vector>

#include "core/assemble/build_order.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// The colour of the wires of each net: black for ground, red for what comes from a
/// supply, orange behind a regulator, blue for what lies below ground; a supply's minus
/// that is not ground itself is black with a ring of tape. A branch has one colour for
/// all its nets, in the order of the controllers' pins, so that an output has the same
/// one on a breadboard and on the board; where there are more branches than colours,
/// rings of tape are added. Common practice, no source.
[[nodiscard]] std::vector<std::string> wire_colours(const Circuit& circuit,
                                                    const BuildOrder& order);

}  // namespace benchproof
