#pragma once

#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/observation.h"

namespace benchproof {

/// The differential of a figure of a network at rest: what the figure moves by for each
/// volt more at a node and for each ampere more in an element (at an end of it, of
/// those with three ends).
struct Differential {
  std::vector<double> by_volts;  ///< Per node.
  Currents by_amps;              ///< In the order of a Solution's currents.
};

/// Of a figure that nothing moves.
[[nodiscard]] Differential no_differential(const Structure& structure);

/// Of a node's voltage.
[[nodiscard]] Differential differential_of_volts(const Structure& structure, int node);

/// Of the current into a part at a pin.
[[nodiscard]] Differential differential_of_amps(const Structure& structure, int part,
                                                int pin);

/// Of what a part takes up, where that is as observed.
[[nodiscard]] Differential differential_of_watts(const Circuit& circuit,
                                                 const Structure& structure,
                                                 const Observation& seen, int part);

/// Adds `times` another one: that of a difference has -1.
void add(Differential& sum, const Differential& other, double times = 1.0);

}  // namespace benchproof
