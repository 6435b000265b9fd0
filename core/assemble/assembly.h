#pragma once

#include <string>
#include <vector>

#include "core/assemble/build_order.h"
#include "core/assemble/on_board.h"
#include "core/assemble/stage_checks.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/verify/verify.h"

namespace benchproof {

/// How a pin of a part is joined to what is there already.
struct BuildJoin {
  int pin = -1;
  int net = -1;        ///< -1: it stays open.
  PinRef to;           ///< A pin that is there; `part` is -1 where it is the first.
  std::string colour;  ///< Of a wire between the two.
};

/// One part that is placed.
struct BuildStep {
  int part = -1;
  std::size_t stage = 0;
  std::string what;  ///< "150R, 5 %, 0.25 W".
  std::string seen;  ///< What it says or shows: "bands brown green brown gold".
  std::string mark;  ///< See mark_of.
  std::vector<std::string> cautions;
  std::vector<BuildJoin> joins;  ///< One a pin.
  double metres = 0.0;           ///< Of a wire that has a length; else 0.
  BoardWork board;               ///< Where there is a board; else empty.
};

/// How a circuit is built.
struct Assembly {
  const Board* board = nullptr;  ///< On which it is built; null: by nets alone.
  BuildOrder order;
  std::vector<std::string> colours;  ///< One a net.
  std::vector<BuildStep> steps;
  std::vector<StageChecks> checks;  ///< One a stage.
};

/// The order of the work, with what is to be seen after each stage. `verification` is
/// that of all steady states of the circuit. `board` is one of the circuit's, or null;
/// a part that it has no place for is joined by nets.
[[nodiscard]] Assembly assemble(const Circuit& circuit, const Board* board,
                                const Verification& verification, const Solve& engine,
                                const Solve& nodal);

}  // namespace benchproof
