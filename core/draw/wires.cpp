#include <algorithm>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

#include "core/circuit/topology.h"
#include "core/draw/detail/laying.h"

namespace benchproof {

[[nodiscard]] double Laying::pin_y(const Attachment& at) const {
  if (at.element >= 0) {
    const ItemPart& element = item_of(at.item).elements[at.element];
    const double y = element_y_[at.item][at.element];
    if (at.pin == element.side_pin) return y;
    return at.pin == element.top_pin ? y - kHalfElement : y + kHalfElement;
  }
  if (at.side < 0) return at.pin == kVdd ? head_y_[at.item] : foot_y_[at.item] + kFoot;
  return row_y_[side_row(at.item, at.side)];
}

int Laying::side_row(int item, int side) const {
  for (int row = first_row_[item]; row <= last_row_[item]; ++row)
    if (order_.rows[row].item == item && order_.rows[row].side == side) return row;
  return first_row_[item];
}

Box Laying::marks_box(int part, Point first) const {
  const std::size_t count = marks_of(part);
  if (count == 0) return {first.x, first.y, first.x, first.y};
  const double half = kMarkSize / 2.0;
  return {first.x - half, first.y - half, first.x + half,
          mark_at(first, count - 1).y + half};
}

void Laying::draw_column(int index, Diagram& diagram) {
  const Item& item = item_of(index);
  const ItemShape& shape = shapes_[index];
  for (std::size_t e = 0; e < item.elements.size(); ++e) {
    const ItemPart& element = item.elements[e];
    const double y = element_y_[index][e];
    const Part& part = part_of(element);
    Symbol& symbol = diagram.symbols[element.part];
    symbol.part = element.part;
    symbol.at = {shape.x, y};
    symbol.is_flipped = element.top_pin != main_pins(part).first;
    symbol.is_mirrored = shape.is_mirrored && element.side_pin >= 0;
    symbol.pins.resize(part.pins.size());
    symbol.pins[element.top_pin] = {shape.x, y - kHalfElement};
    symbol.pins[element.bottom_pin] = {shape.x, y + kHalfElement};
    if (element.side_pin >= 0)
      symbol.pins[element.side_pin] = {stub_x(index, static_cast<int>(e)), y};
    SideReach reach = reach_of(part);
    if (symbol.is_mirrored) std::swap(reach.left, reach.right);
    symbol.body = {shape.x - reach.left, y - 20.0, shape.x + reach.right, y + 20.0};
    const double width = needs_.part_widths[element.part];
    const double offset = words_offset(element, shape.is_mirrored);
    const double left = shape.is_mirrored ? shape.x - offset - width : shape.x + offset;
    symbol.words = {left, y - 1.5 * kLineHeight, left + width, y + 1.5 * kLineHeight};
    constexpr double kHalfMark = kMarkSize / 2.0 + 2.5;
    const bool is_at_right = shape.is_mirrored != has_inner_marks(element);
    symbol.mark = {is_at_right ? shape.x + reach.right + kHalfMark
                               : shape.x - reach.left - kHalfMark,
                   y - 22.0};
    symbol.marks = marks_box(element.part, symbol.mark);
  }
}

void Laying::draw_block(int index, Diagram& diagram) {
  const Item& item = item_of(index);
  const ItemShape& shape = shapes_[index];
  const int number = item.elements.front().part;
  Symbol& symbol = diagram.symbols[number];
  symbol.part = number;
  const double top = head_y_[index];
  const double bottom = foot_y_[index] + kFoot;
  symbol.body = {shape.x, top + 8.0, shape.x + shape.width, bottom - 8.0};
  symbol.at = {shape.x + shape.width / 2.0, (top + bottom) / 2.0};
  symbol.pins.resize(circuit_.parts[number].pins.size());
  symbol.pins[kVdd] = {shape.x + kSupplyPin, top};
  symbol.pins[kVss] = {shape.x + kSupplyPin, bottom};
  for (std::size_t s = 0; s < item.sides.size(); ++s) {
    const BlockPin& side = item.sides[s];
    symbol.pins[side.pin] = {
        side.is_right ? shape.x + shape.width + kBlockLead : shape.x - kBlockLead,
        row_y_[side_row(index, static_cast<int>(s))]};
  }
  symbol.words = {shape.x + 8.0, top + 22.0, shape.x + 8.0 + needs_.part_widths[number],
                  top + 22.0 + 42.0};
  symbol.mark = {shape.x + shape.width - 12.0, top + 20.0};
  symbol.marks = marks_box(number, symbol.mark);
}

void Laying::add_wire(Diagram& diagram, int net, Point from, Point to) {
  if (from.x == to.x && from.y == to.y) return;
  diagram.wires.push_back({net, from, to});
}

void Laying::draw_bar(int net, Diagram& diagram) const {
  const std::vector<Attachment>& attachments = attachments_[net];
  if (attachments.empty()) return;
  const double y = row_y_[order_.row_of_net[net]];
  const auto [left, right] = ends_of_bar(net);
  add_wire(diagram, net, {left, y}, {right, y});
  std::vector<double> ups;
  std::vector<double> downs;
  for (const Attachment& at : attachments) {
    const Point pin{at.pin_x, pin_y(at)};
    double turn = pin.y;
    if (at.is_round && at.element < 0) {
      turn += at.pin == kVdd ? -6.0 : 6.0;
      add_wire(diagram, net, pin, {pin.x, turn});
    }
    add_wire(diagram, net, {pin.x, turn}, {at.x, turn});
    add_wire(diagram, net, {at.x, turn}, {at.x, y});
    if (turn < y) ups.push_back(at.x);
    if (turn > y) downs.push_back(at.x);
  }
  std::vector<double> all = ups;
  all.insert(all.end(), downs.begin(), downs.end());
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  for (const double x : all) {
    const auto has = [x](const std::vector<double>& list) {
      return std::find(list.begin(), list.end(), x) != list.end() ? 1 : 0;
    };
    const int ways = has(ups) + has(downs) + (x > left ? 1 : 0) + (x < right ? 1 : 0);
    if (ways > 2) diagram.dots.push_back({net, {x, y}});
  }
  Box words = label_box(net);
  words.top += y;
  words.bottom += y;
  diagram.labels.push_back({net, words});
}

void Laying::draw_inner(int index, Diagram& diagram) const {
  const Item& item = item_of(index);
  for (std::size_t k = 0; k < item.inner_nets.size(); ++k) {
    const int net = item.inner_nets[k];
    const double x = shapes_[index].x;
    add_wire(diagram, net, {x, element_y_[index][k] + kHalfElement},
             {x, element_y_[index][k + 1] - kHalfElement});
    const double y = inner_y_[index][k];
    diagram.labels.push_back({net,
                              {x + 6.0, y - kLineHeight / 2.0, x + 6.0 + net_width(net),
                               y + kLineHeight / 2.0}});
  }
}

Diagram Laying::drawn() {
  Diagram diagram;
  diagram.symbols.resize(circuit_.parts.size());
  for (std::size_t k = 0; k < made_.items.size(); ++k)
    item_of(static_cast<int>(k)).is_block ? draw_block(static_cast<int>(k), diagram)
                                          : draw_column(static_cast<int>(k), diagram);
  for (std::size_t net = 0; net < circuit_.nets.size(); ++net)
    if (order_.row_of_net[net] >= 0) draw_bar(static_cast<int>(net), diagram);
  for (std::size_t k = 0; k < made_.items.size(); ++k)
    draw_inner(static_cast<int>(k), diagram);
  std::sort(diagram.labels.begin(), diagram.labels.end(),
            [](const NetLabel& a, const NetLabel& b) { return a.net < b.net; });
  squeeze(circuit_, needs_, edges_, diagram);
  fit(diagram);
  return diagram;
}

}  // namespace benchproof
