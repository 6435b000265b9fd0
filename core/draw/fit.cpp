#include <algorithm>

#include "core/draw/detail/laying.h"

namespace benchproof {

void fit(Diagram& diagram) {
  Box all{1e300, 1e300, -1e300, -1e300};
  const auto take = [&all](const Box& box) {
    all = {std::min(all.left, box.left), std::min(all.top, box.top),
           std::max(all.right, box.right), std::max(all.bottom, box.bottom)};
  };
  for (const Symbol& symbol : diagram.symbols) {
    take(symbol.body);
    take(symbol.words);
    take(symbol.marks);
    for (const Point& pin : symbol.pins) take({pin.x, pin.y, pin.x, pin.y});
  }
  for (const NetLabel& label : diagram.labels) take(label.words);
  for (const Wire& wire : diagram.wires)
    take({std::min(wire.from.x, wire.to.x), std::min(wire.from.y, wire.to.y),
          std::max(wire.from.x, wire.to.x), std::max(wire.from.y, wire.to.y)});
  if (all.right < all.left) all = {};
  const double dx = kMargin - all.left;
  const double dy = kMargin - all.top;
  diagram.width = all.right - all.left + 2.0 * kMargin;
  diagram.height = all.bottom - all.top + 2.0 * kMargin;
  const auto move = [dx, dy](Point& point) {
    point.x += dx;
    point.y += dy;
  };
  const auto move_box = [dx, dy](Box& box) {
    box = {box.left + dx, box.top + dy, box.right + dx, box.bottom + dy};
  };
  for (Symbol& symbol : diagram.symbols) {
    move(symbol.at);
    move(symbol.mark);
    move_box(symbol.body);
    move_box(symbol.words);
    move_box(symbol.marks);
    for (Point& pin : symbol.pins) move(pin);
  }
  for (Wire& wire : diagram.wires) {
    move(wire.from);
    move(wire.to);
  }
  for (Dot& dot : diagram.dots) move(dot.at);
  for (NetLabel& label : diagram.labels) move_box(label.words);
}

}  // namespace benchproof
