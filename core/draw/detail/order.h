#pragma once

#include <vector>

#include "core/circuit/circuit.h"
#include "core/draw/detail/items.h"

namespace benchproof {

/// What lies at one height: the bar of a net, or a block's pin whose wire goes on to a
/// bar at another height.
struct Row {
  int net = -1;
  int item = -1;  ///< Of the pin; -1 for a bar alone.
  int side = -1;  ///< Index in the block's sides.
};

/// Where a bar begins at a block's pin.
struct Anchor {
  int item = -1;
  int side = -1;
};

/// What is above what, and what is left of what.
struct Order {
  std::vector<Row> rows;        ///< From top to bottom.
  std::vector<int> row_of_net;  ///< -1: it is no bar.
  std::vector<Anchor> anchors;  ///< Per net; item -1: it begins at no block.
  std::vector<int> columns;     ///< Items from left to right.
};

/// Orders the items of a circuit, and turns those over whose top net is below their
/// bottom net.
[[nodiscard]] Order make_order(const Circuit& circuit, Items& items,
                               const std::vector<double>& levels);

/// The rows of the ends of an item: of an open end that of the other one.
struct RowSpan {
  int top = 0;
  int bottom = 0;
};
[[nodiscard]] RowSpan span_of(const Item& item, const Order& order);

/// The nets of the side pins of an item's elements, or of a block's sides; -1 where one
/// is open.
[[nodiscard]] std::vector<int> side_nets(const Circuit& circuit, const Item& item);

}  // namespace benchproof
