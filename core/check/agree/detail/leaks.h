#pragma once

#include <cstddef>
#include <vector>

#include "core/network/network.h"

namespace benchproof {

/// The current that a difference of two witnesses at a node stands for: what moving
/// that node alone from where one has it to where the other has it does to the sum of
/// its currents at rest, the larger of both ways. All else held, a node is at its
/// stiffest. Ampere; infinite at a node whose voltage is held by something without a
/// law of its current: a source, coil or regulator. While time passes a capacitance
/// counts with what charges it by the difference within `seconds`; at rest (0) not.
[[nodiscard]] double current_between(const Network& network,
                                     const std::vector<double>& one,
                                     const std::vector<double>& other, std::size_t node,
                                     double seconds = 0.0);

}  // namespace benchproof
