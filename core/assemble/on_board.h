#pragma once

#include <optional>
#include <vector>

#include "core/assemble/build_order.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// What is done on a board when a part is placed.
struct BoardWork {
  std::vector<std::optional<Hole>> holes;  ///< One a pin; nothing where none is told.
  std::optional<Side> faces;
  bool is_off = false;      ///< Its wires start there; it stands elsewhere.
  bool is_flat = false;     ///< Bent onto its back.
  bool is_upright = false;  ///< An axial part with its leads side by side.
  std::vector<int> joins;   ///< Of the board: what is due now, in order.
};

/// The work on a board for each part of `placed`, in that order: its holes, and the
/// bridges, wires and jumpers that join its leads to those of its net which are there
/// already. What joins nothing that is needed comes with the last part.
[[nodiscard]] std::vector<BoardWork> work_on_board(const Circuit& circuit,
                                                   const Board& board,
                                                   const std::vector<int>& placed);

/// Puts flatter parts of a stage before taller ones beside which they stand, closer
/// than a pitch: they would be in the way.
void put_flat_first(const Circuit& circuit, const Board& board, BuildOrder& order);

}  // namespace benchproof
