#pragma once

#include <functional>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// One mistake that people make when they write a circuit down, undone.
struct Repair {
  std::string mistake;     ///< "'guard' is the wrong way round"
  std::string remedy;      ///< "turn it round"
  std::vector<int> parts;  ///< That it is about.
  std::function<void(Circuit&)> undo;
  /// Where this clears it as well, nobody made that mistake: a value three times as
  /// large will do in place of ten times. Null: no such rule.
  std::function<void(Circuit&)> milder = {};
  /// Told only where nothing likelier clears the faults: many things burn less on a
  /// lower supply.
  bool is_last_resort = false;
};

/// Every single mistake of the usual ones that may have been made in a circuit, the
/// likelier ones first (common practice, no source): a part of two poles the wrong way
/// round, leads exchanged, a resistor forgotten before an LED or a base, a pin that is
/// not joined to ground, two resistors in each other's place, a value ten or a thousand
/// times too small or too large, two outputs exchanged, both leads of a resistor on one net,
/// another supply plugged in.
[[nodiscard]] std::vector<Repair> repairs_of(const Circuit& circuit);

}  // namespace benchproof
