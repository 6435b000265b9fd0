#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

void Laying::find_places() {
  place_.resize(made_.items.size());
  for (std::size_t k = 0; k < order_.columns.size(); ++k)
    place_[order_.columns[k]] = static_cast<int>(k);
  first_row_.assign(made_.items.size(), -1);
  last_row_.assign(made_.items.size(), -1);
  for (std::size_t row = 0; row < order_.rows.size(); ++row) {
    const int item = order_.rows[row].item;
    if (item < 0) continue;
    if (first_row_[item] < 0) first_row_[item] = static_cast<int>(row);
    last_row_[item] = static_cast<int>(row);
  }
  shapes_.resize(made_.items.size());
}

std::vector<int> Laying::items_at(int net) const {
  std::vector<int> items;
  for (std::size_t k = 0; k < made_.items.size(); ++k) {
    const Item& item = made_.items[k];
    if (item.top_net == net) items.push_back(static_cast<int>(k));
    if (item.bottom_net == net) items.push_back(static_cast<int>(k));
    for (const int other : side_nets(circuit_, item))
      if (other == net) items.push_back(static_cast<int>(k));
  }
  return items;
}

int Laying::sides_of(const Item& item) {
  return static_cast<int>(
      std::count_if(item.elements.begin(), item.elements.end(),
                    [](const ItemPart& element) { return element.side_pin >= 0; }));
}

void Laying::anchor_side_pins() {
  side_anchors_.resize(circuit_.nets.size());
  for (const int index : order_.columns) {
    const Item& item = item_of(index);
    if (item.is_block || item.top_net < 0 || item.bottom_net < 0) continue;
    const RowSpan span = span_of(item, order_);
    int last = span.top;
    for (std::size_t e = 0; e < item.elements.size(); ++e) {
      const int net = side_net(item.elements[e]);
      const int row = row_of(net);
      if (row < 0 || row <= last || row >= span.bottom) continue;
      if (order_.anchors[net].item >= 0 || side_anchors_[net].item >= 0) continue;
      int left = 0;
      int right = 0;
      for (const int other : items_at(net)) {
        if (place_[other] < place_[index]) ++left;
        if (place_[other] > place_[index]) ++right;
      }
      const int all = static_cast<int>(items_at(net).size()) - 1;
      const bool may_mirror = item.elements.size() == 1 || sides_of(item) == 1;
      if (left != all && !(right == all && may_mirror)) continue;
      if (all == 0) continue;
      side_anchors_[net] = {index, static_cast<int>(e)};
      shapes_[index].is_mirrored = left != all;
      last = row;
    }
  }
}

void Laying::choose_hosts() {
  hosts_.assign(circuit_.nets.size(), -1);
  is_stub_host_.assign(circuit_.nets.size(), false);
  for (std::size_t net = 0; net < circuit_.nets.size(); ++net) {
    if (order_.row_of_net[net] < 0) continue;
    const int index = static_cast<int>(net);
    const Anchor& anchor = order_.anchors[net];
    if (anchor.item >= 0) {
      hosts_[net] = anchor.item;
      ItemShape& shape = shapes_[anchor.item];
      double& room = item_of(anchor.item).sides[anchor.side].is_right
                         ? shape.label_sides
                         : shape.label_lefts;
      room = std::max(room, net_width(index) + 8.0);
      continue;
    }
    for (const int item : order_.columns)
      if (hosts_[net] < 0 &&
          (item_of(item).top_net == index || item_of(item).bottom_net == index))
        hosts_[net] = item;
    if (hosts_[net] >= 0) {
      ItemShape& shape = shapes_[hosts_[net]];
      shape.label_right = std::max(shape.label_right, net_width(index) + 10.0);
      continue;
    }
    for (const int item : order_.columns) {
      const std::vector<int> nets = side_nets(circuit_, item_of(item));
      if (hosts_[net] < 0 && std::find(nets.begin(), nets.end(), index) != nets.end())
        hosts_[net] = item;
    }
    if (hosts_[net] < 0) continue;
    is_stub_host_[net] = true;
    ItemShape& shape = shapes_[hosts_[net]];
    shape.label_stub = std::max(shape.label_stub, net_width(index) + 10.0);
  }
}

}  // namespace benchproof
