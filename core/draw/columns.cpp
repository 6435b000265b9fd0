#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

void Laying::share_columns() {
  for (const int index : order_.columns) {
    if (!columns_.empty() && fits_into(columns_.back(), index))
      columns_.back().push_back(index);
    else
      columns_.push_back({index});
  }
}

RowSpan Laying::whole_span(int index) const {
  const Item& item = item_of(index);
  RowSpan span = span_of(item, order_);
  for (const int net : side_nets(circuit_, item)) {
    if (row_of(net) < 0) continue;
    span.top = std::min(span.top, row_of(net));
    span.bottom = std::max(span.bottom, row_of(net));
  }
  return span;
}

bool Laying::fits_into(const std::vector<int>& column, int index) const {
  const auto may_share = [&](int item) {
    return !item_of(item).is_block && !is_loop(item_of(item)) &&
           item_of(item).top_net >= 0 && item_of(item).bottom_net >= 0;
  };
  if (!may_share(index)) return false;
  const RowSpan own = whole_span(index);
  return std::all_of(column.begin(), column.end(), [&](int other) {
    if (!may_share(other)) return false;
    const RowSpan its = whole_span(other);
    return its.bottom <= own.top || own.bottom <= its.top;
  });
}

void Laying::place_columns() {
  double edge = 0.0;
  for (const std::vector<int>& column : columns_) {
    edges_.push_back(edge);
    double left = 0.0;
    double right = 0.0;
    for (const int index : column) {
      left = std::max(left, shapes_[index].left);
      right = std::max(right, shapes_[index].right);
    }
    for (const int index : column) shapes_[index].x = edge + left;
    edge += left + right + 4.0;
  }
}

}  // namespace benchproof
