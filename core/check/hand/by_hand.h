#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"
#include "core/circuit/circuit.h"
#include "core/network/observation.h"
#include "core/network/record.h"

namespace benchproof {

/// One handbook rule put to a circuit: the third witness, where it fits.
struct HandResult {
  std::string rule;      ///< Stable id, for instance "led-resistor".
  std::string title;     ///< What it computes, in words.
  std::string part;      ///< The part it is about, or empty.
  std::string net;       ///< The net it is about, or empty.
  std::string quantity;  ///< "current", "voltage", "power", "temperature", "time" ...
  Unit unit = Unit::none;
  std::string formula;  ///< "I = (V - VF) / R"
  std::string numbers;  ///< The formula with numbers put in, and the result.
  double hand = 0.0;    ///< The rule's result. SI (degrees Celsius).
  /// The quantity as the witnesses have it; nothing where there is nothing in the
  /// state or run to hold it against (a time constant at rest).
  std::optional<double> engine;
  std::optional<double> nodal;
  std::string neglects;  ///< What the rule leaves out; where a deviation comes from.
  std::string source;
  Mark mark = Mark::practice;
};

/// By how much the hand result is above what the nodal witness has, as a share of that.
/// Nothing without a witness, for a temperature, or where the witness has 0.
[[nodiscard]] std::optional<double> deviation(const HandResult& result);

/// The circuit in one state, as the rules look for their topologies in it.
struct Wiring {
  const Circuit& circuit;
  const std::vector<Part>& parts;  ///< With the state's settings laid over them.
  const State& state;              ///< Without PWM, or one phase of it.
};

/// What the rules of a state are given: both witnesses agree.
struct HandInput : Wiring {
  const Observation& engine;
  const Observation& nodal;
};

/// What the rules of a run are given; the wiring is that after its last step.
struct HandRunInput : Wiring {
  int run = 0;  ///< Its index.
  const Record& engine;
  const Record& nodal;
};

/// A group of closely related rules: one file of hand/.
struct HandRule {
  std::string_view name;
  std::string_view about;  ///< One line for people.
  std::vector<HandResult> (*run)(const HandInput&);
};
struct HandRunRule {
  std::string_view name;
  std::string_view about;
  std::vector<HandResult> (*run)(const HandRunInput&);
};

/// All of them, in the order in which their results are told.
[[nodiscard]] std::span<const HandRule> hand_rules();
[[nodiscard]] std::span<const HandRunRule> hand_run_rules();

/// The rules that fit the circuit in one state. A rule says nothing where its topology
/// is not met exactly, or where what it supposes (a regulator that regulates, a
/// transistor that is saturated) is not so.
[[nodiscard]] std::vector<HandResult> by_hand(const HandInput& input);

/// The rules that fit what happens in a run that both witnesses solved and agreed on.
[[nodiscard]] std::vector<HandResult> by_hand(const Circuit& circuit, int run,
                                              const Record& engine,
                                              const Record& nodal);

}  // namespace benchproof
