#pragma once

#include <vector>

#include "core/circuit/circuit.h"
#include "core/draw/diagram.h"

namespace benchproof {

// What a diagram is laid out from: parts in a row are one item, which takes a column.

/// A part that stands in a column, between the wire above and the wire below it.
struct ItemPart {
  int part = -1;
  int top_pin = 0;
  int bottom_pin = 1;
  int side_pin = -1;
};

/// A pin at the side of a block.
struct BlockPin {
  int pin = -1;
  int net = -1;  ///< -1: open.
  bool is_right = false;
};

/// A column of elements, or a block.
struct Item {
  std::vector<ItemPart> elements;  ///< From top to bottom. Of a block one.
  bool is_block = false;
  std::vector<BlockPin> sides;  ///< Of a block, from top to bottom.
  int top_net = -1;             ///< -1: open.
  int bottom_net = -1;
  std::vector<int> inner_nets;  ///< Between the elements: one less than they are.
};

/// The items of a circuit. A net is within an item where it has two pins, both of them
/// main pins of different parts that are no source; all other nets are bars.
struct Items {
  std::vector<Item> items;
  std::vector<bool> is_bar;  ///< Per net.
};
[[nodiscard]] Items make_items(const Circuit& circuit);

/// Turns an item that is no block upside down.
void turn_over(Item& item);

}  // namespace benchproof
