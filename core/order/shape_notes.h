#pragma once

#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/order/shopping_list.h"

namespace benchproof {

/// What the parts of a line look like to the person who buys and solders them: what
/// marks their orientation, which lead is which pin, how high they stand and lie, and
/// whether makers differ. One note for each shape; a second one where makers differ.
/// By reference/shapes, which has the source and the mark of each figure. Empty for
/// what has no body on a board.
[[nodiscard]] std::vector<BuyersNote> shape_notes(const Circuit& circuit,
                                                  const OrderLine& line);

}  // namespace benchproof
