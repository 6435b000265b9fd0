#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/plan.h"
#include "core/network/slots.h"
#include "core/nodal/sensitivities.h"

namespace benchproof {

/// One standard deviation of a cold filament's resistance, as a share of it. Evenly
/// from a fifteenth to a sixth of that at work it is 0.26.
inline constexpr double kColdFilamentOff = 0.3;

/// One number of a part's elements, and how far it is off in a copy that is one
/// standard deviation off.
struct Deviation {
  int part = -1;  ///< -1: the network's temperature.
  ValueList list = ValueList::ohms;
  std::size_t index = 0;  ///< Among the part's elements of that list.
  std::size_t number = 0;
  double by = 0.0;  ///< In the number's unit, or kelvin.
  double nominal =
      0.0;  ///< As described: a number ten times that is off by ten times, but volts.
};

/// All numbers that move with one draw.
using DrawDeviations = std::vector<Deviation>;

/// The circuit with what a copy of it is expected to have where it is described by a
/// bound: a chip's pins are as weak as they may be, and in most copies half as much;
/// and they leak a small part of what they may, and regulators take little more than
/// half of it.
[[nodiscard]] Circuit expected_copy(const Circuit& circuit);

/// What copies of a circuit are off by in a state, from the expected one:
/// [phase][draw]. See spreads_of; after these come draws of what nobody tells: what
/// chips draw, what lies behind their clamp diodes, and transistors' gain in reverse.
[[nodiscard]] std::vector<std::vector<DrawDeviations>> deviations_of(
    const Circuit& circuit, const State& state);

/// The deviation of figures of a network over all copies; each draw's, added up over
/// phases of PWM by `add` and told by `total`. What passes through open switches and
/// blocking junctions is known by its bound only, so that it is off by all of itself.
class Scatter {
 public:
  explicit Scatter(std::size_t draws) : draws_(draws, 0.0) {}

  /// Adds what a figure moves by: `slopes` are those of a network with that plan and
  /// values, and count `times`.
  void add(const std::vector<DrawDeviations>& deviations, const Plan& plan,
           const Network& network, const Slopes& slopes, std::size_t figure,
           double times);
  /// Adds what another one has of the same draws, `times`.
  void add(const Scatter& other, double times);
  /// One standard deviation.
  [[nodiscard]] double total() const;

 private:
  std::vector<double> draws_;
  double leaks_ = 0.0;
};

}  // namespace benchproof
