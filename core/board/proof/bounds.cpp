#include "core/board/proof/bounds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <set>

#include "core/board/places/islands.h"

namespace benchproof {
namespace {

/// Which holes the board's own copper makes one.
Islands own_copper(const Board& board) {
  Board bare = board;
  bare.joins.clear();
  return islands_of(bare);
}

/// How many pieces of a net one join could make one at most, for each stretch of free
/// holes: bridges run straight, over holes whose copper nothing else of a net uses.
std::vector<std::size_t> stretches(const Board& board, const Islands& bare,
                                   const std::map<int, int>& net_of_piece, int net) {
  std::vector<std::size_t> joined;
  std::set<int> here;
  const auto end = [&] {
    if (here.size() > 1) joined.push_back(here.size());
    here.clear();
  };
  const auto take = [&](Hole hole) {
    const auto used =
        has_hole(board, hole) ? net_of_piece.find(bare.root(hole)) : net_of_piece.end();
    if (!has_hole(board, hole)) return end();
    if (used == net_of_piece.end()) return;
    if (used->second != net) return end();
    here.insert(used->first);
  };
  const int least = board.kind == BoardKind::groups ? -2 : 0;
  const int most = board.rows + (board.kind == BoardKind::groups ? 2 : 0);
  for (int row = least; row < most; ++row, end())
    for (int column = 0; column < board.columns; ++column) take({row, column});
  for (int column = 0; column < board.columns; ++column, end())
    for (int row = 0; row < board.rows; ++row) {
      // Solder does not cross the gap of groups.
      if (board.kind == BoardKind::groups && row == kGroupRows / 2) end();
      take({row, column});
    }
  std::sort(joined.rbegin(), joined.rend());
  return joined;
}

/// No more than a stretch holds is joined by one bridge, and two pieces by a wire.
int fewest_joins(const Board& board, const Islands& bare,
                 const std::map<int, int>& net_of_piece, int net) {
  const auto pieces = static_cast<std::size_t>(
      std::count_if(net_of_piece.begin(), net_of_piece.end(),
                    [net](const auto& piece) { return piece.second == net; }));
  if (pieces < 2) return 0;
  std::size_t left = pieces - 1;
  int joins = 0;
  for (const std::size_t joined : stretches(board, bare, net_of_piece, net)) {
    if (left == 0) break;
    left -= std::min(left, joined - 1);
    ++joins;
  }
  return joins + static_cast<int>(left);
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
  // Which net each piece of the board's own copper is of.
  std::map<int, int> net_of_piece;
  for (std::size_t net = 0; net < leads.size(); ++net)
    for (const Hole hole : leads[net])
      net_of_piece[bare.root(hole)] = static_cast<int>(net);
  for (std::size_t net = 0; net < leads.size(); ++net) {
    if (leads[net].empty()) continue;
    bounds.needed += static_cast<int>(leads[net].size()) - 1;
    bounds.fewest += fewest_joins(board, bare, net_of_piece, static_cast<int>(net));
    bounds.trees += tree_with_points(board, leads[net]);
  }
  return bounds;
}

}  // namespace benchproof
