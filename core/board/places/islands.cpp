#include "core/board/places/islands.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "core/shape/shape.h"

namespace benchproof {
namespace {

/// The hole next to another in the same row (to the east) or column (to the south),
/// where copper of the board itself joins them.
bool is_own_copper(const Board& board, Hole a, Hole b, const std::set<Hole>& cuts) {
  switch (board.kind) {
    case BoardKind::pads:
      return false;
    case BoardKind::strips:
      return a.row == b.row && !cuts.contains(a) && !cuts.contains(b);
    case BoardKind::groups: {
      const auto is_lettered = [](Hole h) { return h.row >= 0 && h.row < kGroupRows; };
      if (is_lettered(a) != is_lettered(b)) return false;
      if (!is_lettered(a)) return a.row == b.row;
      return a.column == b.column &&
             a.row / (kGroupRows / 2) == b.row / (kGroupRows / 2);
    }
  }
  return false;
}

}  // namespace

Islands::Islands(const Board& board) : holes_(holes_of(board)) {
  for (std::size_t k = 0; k < holes_.size(); ++k)
    index_.emplace(holes_[k], static_cast<int>(k));
  parents_.resize(holes_.size());
  std::iota(parents_.begin(), parents_.end(), 0);
}

int Islands::index(Hole hole) const { return index_.at(hole); }

int Islands::root(int hole) const {
  while (parents_[static_cast<std::size_t>(hole)] != hole)
    hole = parents_[static_cast<std::size_t>(hole)];
  return hole;
}

void Islands::join(int a, int b) {
  const int first = root(a);
  const int second = root(b);
  // The lower number stands for both, so that no result hangs on the order.
  parents_[static_cast<std::size_t>(std::max(first, second))] = std::min(first, second);
}

bool is_straight_bridge(const Board& board, const Join& join) {
  if (join.from == join.to) return false;
  if (join.from.row == join.to.row) return true;
  if (join.from.column != join.to.column) return false;
  // Over a gap of groups rows are no neighbours.
  const int south =
      pitches_of(board, join.to).second - pitches_of(board, join.from).second;
  return std::abs(south) == std::abs(join.to.row - join.from.row);
}

std::vector<Hole> holes_along(const Board& board, const Join& join) {
  if (join.kind != JoinKind::bridge || !is_straight_bridge(board, join))
    return {join.from, join.to};
  const auto step = [](int from, int to) { return (to > from) - (to < from); };
  const Hole by = {step(join.from.row, join.to.row),
                   step(join.from.column, join.to.column)};
  std::vector<Hole> holes = {join.from};
  while (holes.back() != join.to)
    holes.push_back({holes.back().row + by.row, holes.back().column + by.column});
  return holes;
}

double length_of(const Board& board, const Join& join) {
  const auto from = pitches_of(board, join.from);
  const auto to = pitches_of(board, join.to);
  return kPitch * std::hypot(to.first - from.first, to.second - from.second);
}

std::vector<Link> links_of(const Board& board) {
  std::vector<Link> links;
  std::set<Hole> cuts;
  for (const Cut& cut : board.cuts) cuts.insert(cut.hole);
  for (const Hole hole : holes_of(board))
    for (const Hole other :
         {Hole{hole.row, hole.column + 1}, Hole{hole.row + 1, hole.column}})
      if (has_hole(board, other) && is_own_copper(board, hole, other, cuts))
        links.push_back({hole, other, -1});
  for (std::size_t k = 0; k < board.joins.size(); ++k) {
    const std::vector<Hole> holes = holes_along(board, board.joins[k]);
    for (std::size_t h = 1; h < holes.size(); ++h)
      links.push_back({holes[h - 1], holes[h], static_cast<int>(k)});
  }
  return links;
}

Islands islands_of(const Board& board) {
  Islands islands(board);
  for (const Link& link : links_of(board))
    islands.join(islands.index(link.from), islands.index(link.to));
  return islands;
}

}  // namespace benchproof
