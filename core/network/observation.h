#pragma once

#include <span>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"

namespace benchproof {

/// What a person sees of a solution: nets, pins, parts.
struct Observation {
  std::vector<double> net_volts;              ///< Per net of the circuit.
  std::vector<std::vector<double>> pin_amps;  ///< [part][pin], into the part. Ampere.
  std::vector<double> part_watts;             ///< What the part takes up. Watt.
};

/// Sums element currents to pin currents and powers of parts.
/// Left-open pins carry 0 A and stand at no net.
[[nodiscard]] Observation observe(const Circuit& circuit, const Network& network,
                                  const Solution& solution);

/// The same into one that is there, of whatever circuit: its memory is used again.
void observe(const Circuit& circuit, const Network& network, const Solution& solution,
             Observation& seen);

/// Puts what is nothing among the currents into a part's pins to 0, those of left-open
/// pins included, and sums up what the part takes. `volts` are of the circuit's nets,
/// or of these first. Watt.
double settle_pins(const Part& part, std::span<const double> volts,
                   std::vector<double>& pin_amps);

/// The share-weighted mean of observations of the same circuit.
[[nodiscard]] Observation average(const std::vector<Observation>& observations,
                                  const std::vector<double>& shares);

/// The same into one that is there.
void average(const std::vector<Observation>& observations,
             const std::vector<double>& shares, Observation& mean);

}  // namespace benchproof
