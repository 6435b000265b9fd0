#pragma once

#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// A source, or a regulator, and the nets that it feeds.
struct SupplyLine {
  int part = -1;             ///< The source or regulator.
  bool is_negative = false;  ///< Its nets lie below ground.
  std::vector<int> nets;     ///< From it on, up to the next regulator; without ground.
  /// What lies in their way: guard, fuse, switch, wires, those of the way back too.
  std::vector<int> parts;
};

/// How a circuit is fed: the ways from each source to what it is there for (regulators
/// and controllers), and back to ground.
struct SupplyLines {
  std::vector<SupplyLine> lines;  ///< Sources first, then regulators as they are met.
  std::vector<int> line_of_net;   ///< Of each net the line that it is of; else -1.
  std::vector<int> line_of_part;  ///< Of each part likewise, the feeders included.
};

/// Looks for the supply lines. A way leads through fuses, wires, switches, diodes and
/// windings where it can, else through transistors and resistors, never through a lamp
/// or load. A source that feeds neither regulator nor controller has what stands alone
/// in its way: its fuse, its switch.
[[nodiscard]] SupplyLines supply_lines(const Circuit& circuit);

}  // namespace benchproof
