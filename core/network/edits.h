#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/timeline.h"

namespace benchproof {

// What is done to a network after it was lowered: functions from network to network.
// Those that change values only keep the structure, and with it every solver's work.

/// The network with its ideal junctions (see kLeastRealEmission) softened to at least
/// this emission coefficient.
[[nodiscard]] Network softened(Network network, double emission);

/// The network with the voltage or current of everything that powers the circuit taken
/// down to 0.
[[nodiscard]] Network powered_down(const Circuit& circuit, Network network);

/// The network with every output as strong as any pin is: of kStrongOhms where its part
/// or type says more. Outputs of which the description itself says how strong they are
/// stay as they are. Nothing where no output changes. `state` is without PWM.
[[nodiscard]] std::optional<Network> with_strong_pins(const Circuit& circuit,
                                                      const State& state,
                                                      const Network& network);

/// An LED whose least forward voltage nobody publishes may have this much less than
/// others of its kind. Volt. Common practice, no source.
inline constexpr double kLampSpreadVolts = 0.2;

/// The network with every LED's forward curve moved to the least that is published of
/// its type, or by kLampSpreadVolts; one with a constant drop stays as it is. `parts`
/// as the state has them.
[[nodiscard]] Network with_least_lamps(const std::vector<Part>& parts, Network network);

/// The network with its values at a time.
[[nodiscard]] Network network_at(const Timeline& timeline, double seconds);

/// The network in the moment in which a run's given charges meet it: what a capacitor
/// holds is a voltage then like that of a source; what an inductance carries, a
/// current.
[[nodiscard]] Network charged_at_start(const Timeline& timeline);

/// The network in the moment in which these of its capacitors (by their index) begin to
/// charge: an empty one is a source of 0 V, the network's last ones, one for each pair
/// of nodes. A coil in their way lets through what it and they make of a step, V /
/// sqrt(L / C). All other capacitors stay open, as at rest.
[[nodiscard]] Network emptied(const std::vector<Part>& parts, Network network,
                              const std::vector<std::size_t>& capacitors);

/// The resistance of a cold filament as a share of that at work: from a fifteenth to a
/// sixth, and what lies between. Common practice, no source (reference/parts has ten
/// times the current of the moment when it is switched on).
inline constexpr double kColdFilamentLeast = 1.0 / 15.0;
inline constexpr double kColdFilament = 1.0 / 9.5;

/// The network with every lamp as cold as it is before it is switched on: of its
/// voltage / `start_current`; one that says none stays as it is. `parts` as the state
/// has them.
[[nodiscard]] Network with_cold_lamps(const std::vector<Part>& parts, Network network);

/// The network with a current source of 0 A more, its last one, from node `b` to node
/// `a`: a probe.
[[nodiscard]] Network with_probe(Network network, int a, int b);

}  // namespace benchproof
