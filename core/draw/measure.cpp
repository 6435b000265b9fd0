#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

SideReach reach_of(const Part& part) {
  switch (part.kind) {
    case KindId::resistor:
      return {8.0, 8.0};
    case KindId::trimmer:
      return {15.0, 8.0};
    case KindId::light_resistor:
      return {28.0, 8.0};
    case KindId::heat_resistor:
      return {24.0, 13.0};
    case KindId::inductor:
      return {3.0, 7.0};
    case KindId::diode:
    case KindId::zener:
      return {10.0, 10.0};
    case KindId::led:
      return {10.0, 26.0};
    case KindId::transistor:
    case KindId::mosfet:
      return {20.0, 14.0};
    case KindId::regulator:
      return {28.0, 28.0};
    case KindId::switch_:
      return {13.0, 4.0};
    case KindId::fuse:
      return {6.0, 6.0};
    case KindId::lamp:  // With its rays.
      return {24.0, 24.0};
    case KindId::buzzer:
      return {14.0, 8.0};
    case KindId::wire:
      return {4.0, 4.0};
    case KindId::voltage_source:
      return {20.0, 14.0};
    case KindId::current_source:
      return {24.0, 14.0};
    default:
      return {15.0, 15.0};
  }
}

std::size_t Laying::marks_of(int part) const {
  const auto index = static_cast<std::size_t>(part);
  return index < needs_.part_marks.size()
             ? std::min(needs_.part_marks[index], kMostMarks)
             : 0;
}

bool Laying::has_inner_marks(const ItemPart& element) const {
  return element.side_pin >= 0 && marks_of(element.part) > 0;
}

double Laying::words_offset(const ItemPart& element, bool is_mirrored) const {
  constexpr double kGap = 6.0;
  const SideReach reach = reach_of(part_of(element));
  const bool is_turned = element.side_pin >= 0;
  return (is_mirrored && !is_turned ? reach.left : reach.right) + kGap +
         (has_inner_marks(element) ? kMarkSize + 4.0 : 0.0);
}

void Laying::measure_items() {
  for (std::size_t k = 0; k < made_.items.size(); ++k) {
    if (item_of(static_cast<int>(k)).is_block)
      measure_block(static_cast<int>(k));
    else
      measure_column(static_cast<int>(k));
  }
}

void Laying::measure_column(int index) {
  const Item& item = item_of(index);
  ItemShape& shape = shapes_[index];
  for (const ItemPart& element : item.elements) {
    const double words = words_offset(element, shape.is_mirrored) +
                         needs_.part_widths[element.part] + 6.0;
    shape.left = std::max(shape.left, reach_of(part_of(element)).left + 20.0);
    if (shape.is_mirrored) {
      shape.left = std::max(shape.left, words);
      shape.right =
          std::max({shape.right, kStub + 4.0, reach_of(part_of(element)).right + 20.0});
    } else {
      shape.right = std::max(shape.right, words);
      if (element.side_pin >= 0)
        shape.left = std::max(shape.left, outer_stub(index) + 4.0);
    }
  }
  for (const int net : item.inner_nets)
    shape.right = std::max(shape.right, net_width(net) + 10.0);
  if (is_loop(item)) shape.left = std::max(shape.left, kLoopTrack + 4.0);
  shape.right = std::max(shape.right, shape.label_right);
  (shape.is_mirrored ? shape.right : shape.left) += shape.label_stub;
}

int Laying::tracks_before(int index, int element) const {
  int count = 0;
  for (int e = 0; e < element; ++e) {
    const int net = side_net(item_of(index).elements[e]);
    if (net >= 0 && !is_anchored(index, e, net)) ++count;
  }
  return count;
}

double Laying::outer_stub(int index) const {
  const int all =
      tracks_before(index, static_cast<int>(item_of(index).elements.size()));
  return kStub + kTrack * std::max(0, all - 1);
}

void Laying::measure_block(int index) {
  const Item& item = item_of(index);
  ItemShape& shape = shapes_[index];
  const Part& part = circuit_.parts[item.elements.front().part];
  double left_names = 0.0;
  double right_names = 0.0;
  for (std::size_t s = 0; s < item.sides.size(); ++s) {
    const BlockPin& side = item.sides[s];
    double& names = side.is_right ? right_names : left_names;
    names = std::max(names, text_width(part.pins[side.pin]));
    const bool is_anchor = side.net >= 0 && order_.anchors[side.net].item == index &&
                           order_.anchors[side.net].side == static_cast<int>(s);
    if (is_anchor || side.net < 0) continue;
    ++(side.is_right ? shape.right_tracks : shape.left_tracks);
  }
  shape.left_tracks += 2;  // For a supply pin's wire that has to go round.
  shape.width = std::max({left_names + right_names + 30.0, 90.0,
                          needs_.part_widths[item.elements.front().part] + 16.0});
  shape.left = kBlockLead + kTrack * shape.left_tracks + 6.0 +
               std::max(shape.label_lefts, shape.label_stub);
  shape.right = shape.width + kBlockLead + kTrack * shape.right_tracks + 6.0 +
                std::max(shape.label_sides, shape.label_stub);
  shape.right = std::max(shape.right, kSupplyPin + shape.label_right);
}

}  // namespace benchproof
