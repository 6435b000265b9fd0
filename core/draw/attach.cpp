#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

void Laying::find_attachments() {
  attachments_.resize(circuit_.nets.size());
  for (std::size_t k = 0; k < made_.items.size(); ++k) {
    const int index = static_cast<int>(k);
    if (item_of(index).is_block)
      attach_block(index);
    else
      attach_column(index);
  }
}

void Laying::attach(int net, const Attachment& attachment) {
  if (net >= 0 && order_.row_of_net[net] >= 0) attachments_[net].push_back(attachment);
}

void Laying::attach_column(int index) {
  const Item& item = item_of(index);
  const ItemShape& shape = shapes_[index];
  const int last = static_cast<int>(item.elements.size()) - 1;
  Attachment at;
  at.item = index;
  at.is_center = true;
  at.element = 0;
  at.part = item.elements.front().part;
  at.pin = item.elements.front().top_pin;
  at.pin_x = at.x = shape.x;
  attach(item.top_net, at);
  at.element = last;
  at.part = item.elements.back().part;
  at.pin = item.elements.back().bottom_pin;
  if (is_loop(item)) {
    at.is_round = true;
    at.is_center = false;
    at.x = shape.x - kLoopTrack;
  }
  attach(item.bottom_net, at);
  for (int e = 0; e <= last; ++e) {
    const int net = side_net(item.elements[e]);
    if (net < 0) continue;
    Attachment side;
    side.item = index;
    side.element = e;
    side.part = item.elements[e].part;
    side.pin = item.elements[e].side_pin;
    side.pin_x = side.x = stub_x(index, e);
    side.is_bar_end = is_anchored(index, e, net);
    attach(net, side);
  }
}

double Laying::stub_x(int index, int element) const {
  const ItemShape& shape = shapes_[index];
  if (shape.is_mirrored) return shape.x + kStub;
  const int net = side_net(item_of(index).elements[element]);
  if (is_anchored(index, element, net)) return shape.x - kStub;
  return shape.x - kStub - kTrack * tracks_before(index, element);
}

void Laying::attach_block(int index) {
  const Item& item = item_of(index);
  const ItemShape& shape = shapes_[index];
  const int part = item.elements.front().part;
  const auto supply = [&](int net, int pin, bool is_wrong_way, double track) {
    Attachment at;
    at.item = index;
    at.part = part;
    at.pin = pin;
    at.pin_x = at.x = shape.x + kSupplyPin;
    at.is_center = !is_wrong_way;
    if (is_wrong_way) {
      at.is_round = true;
      at.x = track;
    }
    attach(net, at);
  };
  const int top = row_of(item.top_net);
  const int bottom = row_of(item.bottom_net);
  const double outer = shape.x - kBlockLead - kTrack * (shape.left_tracks - 2);
  supply(item.top_net, kVdd, top > first_row_[index], outer - kTrack);
  supply(item.bottom_net, kVss, bottom >= 0 && bottom < last_row_[index],
         outer - 2.0 * kTrack);
  int right = 0;
  int left = 0;
  for (std::size_t s = 0; s < item.sides.size(); ++s) {
    const BlockPin& side = item.sides[s];
    if (side.net < 0) continue;
    Attachment at;
    at.item = index;
    at.part = part;
    at.pin = side.pin;
    at.side = static_cast<int>(s);
    at.pin_x =
        side.is_right ? shape.x + shape.width + kBlockLead : shape.x - kBlockLead;
    at.is_bar_end = order_.anchors[side.net].item == index &&
                    order_.anchors[side.net].side == static_cast<int>(s);
    at.x = at.pin_x;
    if (!at.is_bar_end) at.x += side.is_right ? kTrack * ++right : -kTrack * ++left;
    attach(side.net, at);
  }
}

}  // namespace benchproof
