#pragma once

#include <string>
#include <vector>

#include "core/base/quantity.h"
#include "core/circuit/circuit.h"
#include "core/network/lower.h"

namespace benchproof {

/// One handbook rule put to a circuit: the third witness, where it fits.
struct HandResult {
  std::string rule;      ///< Stable id, for instance "led-resistor".
  std::string part;      ///< The part it is about, or empty.
  std::string net;       ///< The net it is about, or empty.
  std::string quantity;  ///< "current", "voltage", "power", "temperature"
  Unit unit = Unit::none;
  std::string formula;  ///< "I = (V - VF) / R"
  std::string numbers;  ///< The same with numbers put in.
  double hand = 0.0;    ///< The rule's result. SI.
  double solved = 0.0;  ///< The same quantity as solved.
  std::string source;
  Mark mark = Mark::practice;
};

/// The rules that fit the circuit in one state without PWM, or in one phase of it.
/// `parts` are the parts with the state's settings, `seen` what the nodal witness
/// found. A rule says nothing where its topology is not met exactly.
[[nodiscard]] std::vector<HandResult> by_hand(const Circuit& circuit,
                                              const std::vector<Part>& parts,
                                              const State& phase,
                                              const Observation& seen);

}  // namespace benchproof
