#include <algorithm>
#include <cstddef>
#include <limits>
#include <vector>

#include "core/draw/detail/laying.h"

namespace benchproof {
namespace {

/// What is drawn at a place, by how near another thing may come to it.
enum class Solid { wire, body, words, mark };

struct Obstacle {
  Solid thing = Solid::wire;
  int net = -1;  ///< Of a wire.
  Box box;
};

/// How near two things of different columns may be to each other at one height.
double gap_between(const Obstacle& a, const Obstacle& b) {
  constexpr double kWires = 14.0;
  constexpr double kWords = 12.0;
  constexpr double kElse = 8.0;
  if (a.thing == Solid::mark || b.thing == Solid::mark) return 4.0;
  if (a.thing == Solid::wire && b.thing == Solid::wire) return kWires;
  if (a.thing == Solid::words && b.thing == Solid::words) return kWords;
  return kElse;
}

/// The index of the column in whose room a place is.
std::size_t column_at(const std::vector<double>& edges, double x) {
  const auto next = std::upper_bound(edges.begin(), edges.end(), x);
  return next == edges.begin() ? 0 : static_cast<std::size_t>(next - edges.begin()) - 1;
}

/// What stands in each column. A bar over several has its ends in two of them.
class Columns {
 public:
  Columns(const Circuit& circuit, const DiagramNeeds& needs,
          const std::vector<double>& edges, const Diagram& diagram)
      : edges_(edges), things_(edges.size()), axes_(edges.size(), kNowhere) {
    for (const Symbol& symbol : diagram.symbols) {
      if (symbol.part < 0) continue;
      const bool is_block = circuit.parts[symbol.part].kind == KindId::controller;
      const std::size_t column = column_at(edges, symbol.at.x);
      axes_[column] =
          std::min(axes_[column], is_block ? symbol.body.left : symbol.at.x);
      things_[column].push_back({Solid::body, -1, symbol.body});
      for (const Point& pin : symbol.pins) add_lead(column, symbol, pin);
      if (!is_block && needs.part_widths[symbol.part] > 0.0)
        things_[column].push_back({Solid::words, -1, symbol.words});
      if (symbol.marks.right > symbol.marks.left)
        things_[column].push_back({Solid::mark, -1, symbol.marks});
    }
    for (const NetLabel& label : diagram.labels)
      things_[column_at(edges, (label.words.left + label.words.right) / 2.0)].push_back(
          {Solid::words, -1, label.words});
    for (const Wire& wire : diagram.wires) add_wire(wire);
  }

  /// How far each column moves to the left.
  [[nodiscard]] std::vector<double> shifts() {
    std::vector<double> shifts(things_.size(), 0.0);
    std::vector<Obstacle> placed;
    double last_axis = -kNowhere;
    for (std::size_t k = 0; k < things_.size(); ++k) {
      double shift = k == 0 ? 0.0 : room(k, placed, last_axis);
      if (shift >= kNowhere) shift = shifts[k - 1];
      shifts[k] = shift;
      for (Obstacle thing : things_[k]) {
        thing.box.left -= shift;
        thing.box.right -= shift;
        placed.push_back(thing);
      }
      if (axes_[k] < kNowhere) last_axis = std::max(last_axis, axes_[k] - shift);
    }
    return shifts;
  }

 private:
  static constexpr double kNowhere = std::numeric_limits<double>::max();

  void add_lead(std::size_t column, const Symbol& symbol, const Point& pin) {
    things_[column].push_back(
        {Solid::wire,
         -1,
         {std::min(pin.x, symbol.at.x), std::min(pin.y, symbol.at.y),
          std::max(pin.x, symbol.at.x), std::max(pin.y, symbol.at.y)}});
  }

  void add_wire(const Wire& wire) {
    const double left = std::min(wire.from.x, wire.to.x);
    const double right = std::max(wire.from.x, wire.to.x);
    const double top = std::min(wire.from.y, wire.to.y);
    const double bottom = std::max(wire.from.y, wire.to.y);
    const std::size_t first = column_at(edges_, left);
    const std::size_t last = column_at(edges_, right);
    if (first == last) {
      things_[first].push_back({Solid::wire, wire.net, {left, top, right, bottom}});
      return;
    }
    things_[first].push_back({Solid::wire, wire.net, {left, top, left, bottom}});
    things_[last].push_back({Solid::wire, wire.net, {right, top, right, bottom}});
  }

  /// How far a column may move to the left of where it is.
  [[nodiscard]] double room(std::size_t column, const std::vector<Obstacle>& placed,
                            double last_axis) const {
    constexpr double kAxes = 40.0;  // What follows stays to the right of it.
    constexpr double kHeight = 3.0;
    double least = kNowhere;
    if (axes_[column] < kNowhere && last_axis > -kNowhere)
      least = axes_[column] - last_axis - kAxes;
    for (const Obstacle& thing : things_[column])
      for (const Obstacle& other : placed) {
        if (thing.box.top > other.box.bottom + kHeight ||
            other.box.top > thing.box.bottom + kHeight)
          continue;
        least = std::min(least,
                         thing.box.left - other.box.right - gap_between(thing, other));
      }
    return least;
  }

  const std::vector<double>& edges_;
  std::vector<std::vector<Obstacle>> things_;  ///< Per column.
  std::vector<double> axes_;                   ///< Per column.
};

}  // namespace

void squeeze(const Circuit& circuit, const DiagramNeeds& needs,
             const std::vector<double>& edges, Diagram& diagram) {
  if (edges.size() < 2) return;
  const std::vector<double> shifts = Columns(circuit, needs, edges, diagram).shifts();
  const auto shift_at = [&](double x) { return shifts[column_at(edges, x)]; };
  const auto move_box = [](Box& box, double shift) {
    box.left -= shift;
    box.right -= shift;
  };
  for (Symbol& symbol : diagram.symbols) {
    const double shift = shift_at(symbol.at.x);
    symbol.at.x -= shift;
    symbol.mark.x -= shift;
    for (Box* box : {&symbol.body, &symbol.words, &symbol.marks}) move_box(*box, shift);
    for (Point& pin : symbol.pins) pin.x -= shift;
  }
  for (NetLabel& label : diagram.labels)
    move_box(label.words, shift_at((label.words.left + label.words.right) / 2.0));
  for (Wire& wire : diagram.wires) {
    wire.from.x -= shift_at(wire.from.x);
    wire.to.x -= shift_at(wire.to.x);
  }
  for (Dot& dot : diagram.dots) dot.at.x -= shift_at(dot.at.x);
}

}  // namespace benchproof
