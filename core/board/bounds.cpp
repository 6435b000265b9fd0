#include "core/board/bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "core/board/islands.h"

namespace benchproof {
namespace {

/// Which holes the board's own copper makes one.
Islands own_copper(const Board& board) {
  Board bare = board;
  bare.joins.clear();
  return islands_of(bare);
}

int fewest_joins(const Islands& bare, const std::vector<Hole>& leads) {
  std::set<int> pieces;
  for (const Hole hole : leads) pieces.insert(bare.root(hole));
  if (pieces.size() < 2) return 0;
  std::map<int, std::set<int>> by_row;
  std::map<int, std::set<int>> by_column;
  for (const Hole hole : bare.holes()) {
    const int root = bare.root(hole);
    if (!pieces.contains(root)) continue;
    by_row[hole.row].insert(root);
    by_column[hole.column].insert(root);
  }
  std::size_t most = 2;
  for (const auto& lines : {by_row, by_column})
    for (const auto& [at, roots] : lines) most = std::max(most, roots.size());
  return static_cast<int>((pieces.size() - 1 + most - 2) / (most - 1));
}

/// The tree with branching points put in among the holes around its leads.
double tree_with_points(const Board& board, const std::vector<Hole>& leads) {
  std::vector<Point> points;
  Hole least = leads.front();
  Hole most = leads.front();
  for (const Hole hole : leads) {
    points.push_back(point_of(board, hole));
    least = {std::min(least.row, hole.row), std::min(least.column, hole.column)};
    most = {std::max(most.row, hole.row), std::max(most.column, hole.column)};
  }
  double length = tree_length(points);
  // Points beyond the leads' own number help no tree.
  for (std::size_t added = 0; added + 2 < leads.size(); ++added) {
    double best = length;
    Point best_point;
    for (int row = least.row; row <= most.row; ++row)
      for (int column = least.column; column <= most.column; ++column) {
        if (!has_hole(board, {row, column})) continue;
        points.push_back(point_of(board, {row, column}));
        if (const double with = tree_length(points); with < best - 1e-9) {
          best = with;
          best_point = points.back();
        }
        points.pop_back();
      }
    if (!(best < length)) break;
    length = best;
    points.push_back(best_point);
  }
  return length;
}

}  // namespace

double tree_length(const std::vector<Point>& points) {
  if (points.size() < 2) return 0.0;
  std::vector<double> far(points.size(), std::numeric_limits<double>::infinity());
  std::vector<bool> is_in(points.size(), false);
  double length = 0.0;
  std::size_t at = 0;
  for (std::size_t step = 1; step < points.size(); ++step) {
    is_in[at] = true;
    std::size_t next = 0;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t k = 0; k < points.size(); ++k) {
      if (is_in[k]) continue;
      far[k] = std::min(
          far[k], std::hypot(points[k].x - points[at].x, points[k].y - points[at].y));
      if (far[k] < nearest) {
        nearest = far[k];
        next = k;
      }
    }
    length += nearest;
    at = next;
  }
  return length;
}

JoinBounds join_bounds(const Circuit& circuit, const Board& board,
                       const BoardProof& proof) {
  JoinBounds bounds;
  bounds.joins = static_cast<int>(board.joins.size());
  for (const Join& join : board.joins) bounds.metres += length_of(board, join);
  const Islands bare = own_copper(board);
  std::vector<std::vector<Hole>> leads(circuit.nets.size());
  for (const BoardIsland& island : proof.islands)
    for (const Hole hole : island.holes)
      leads[static_cast<std::size_t>(island.net)].push_back(hole);
  for (const std::vector<Hole>& of_net : leads) {
    if (of_net.empty()) continue;
    bounds.fewest += fewest_joins(bare, of_net);
    bounds.trees += tree_with_points(board, of_net);
  }
  return bounds;
}

}  // namespace benchproof
