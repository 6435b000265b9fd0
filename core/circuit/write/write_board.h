#pragma once

#include <string>
#include <string_view>

#include "core/circuit/circuit.h"

namespace benchproof {

/// A description's text with a board put into it, or why that could not be.
struct WrittenBoard {
  std::string text;
  std::string failure;  ///< Empty when written.
};

/// Puts into the text what `after` has more than the board `before`, as the text
/// describes it: size, cuts, places, joins. Lines are added and no other one is
/// changed, but for the places of parts whose wires get holes besides, a size or list
/// of cuts that stands there. Comments stay. `is_described`: the text has a table for
/// it.
[[nodiscard]] WrittenBoard write_board(std::string_view text, const Circuit& circuit,
                                       const Board& before, const Board& after,
                                       bool is_described);

}  // namespace benchproof
