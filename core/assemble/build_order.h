#pragma once

#include <vector>

#include "core/assemble/supply_lines.h"
#include "core/circuit/circuit.h"
#include "core/verify/verify.h"

namespace benchproof {

/// What a stage of the work is about.
enum class StageSort {
  supply,     ///< A source, and what stands between it and the regulator.
  regulator,  ///< A regulator with its capacitors.
  socket,     ///< A controller's socket, still empty.
  chip,       ///< The controller is put in; nothing is soldered.
  branch,     ///< What hangs on outputs or inputs, or on a supply line.
};

/// Some parts after which something can be measured.
struct BuildStage {
  StageSort sort = StageSort::supply;
  int about = -1;            ///< The source, regulator or controller; -1 of a branch.
  std::vector<PinRef> pins;  ///< A controller's pins that a branch hangs on.
  std::vector<int> parts;    ///< In the order in which they are placed.
  std::vector<int> nets;     ///< What is new there, in the current's order.
};

/// The order of the work. Each part is placed once; a controller with its socket.
struct BuildOrder {
  SupplyLines lines;
  std::vector<BuildStage> stages;
  /// Of each net the branch that it belongs to, counted from 0 over the controllers'
  /// pins in their order, then over what hangs on supply lines; -1 of supply lines,
  /// ground, and what belongs to them.
  std::vector<int> branch_of_net;
};

/// The current into each pin of each part in the state in which the part carries most;
/// empty where nothing is known of it, or it carries none. Ampere.
using PartFlows = std::vector<std::vector<double>>;
[[nodiscard]] PartFlows part_flows(const Circuit& circuit,
                                   const Verification& verification);

/// In which order the parts are placed: along the current from each source, stage by
/// stage; in a stage what a current leaves before what it enters, a path to its end
/// before the next one. What carries none (a capacitor, a diode across a coil) comes
/// as soon as its nets are there; of what could come next the flatter, more heat-proof.
[[nodiscard]] BuildOrder build_order(const Circuit& circuit, const PartFlows& flows);

/// How far a part stands up and minds heat: 0 lies flat and bears it. Common practice,
/// no source.
[[nodiscard]] int standing_of(const Part& part);

}  // namespace benchproof
