#pragma once

#include <map>
#include <string>
#include <vector>

#include "core/circuit/board.h"

namespace benchproof {

/// Which holes copper and joins make one.
class Islands {
 public:
  /// The holes of a board, each by itself.
  explicit Islands(const Board& board);

  /// A hole's number; the board must have the hole.
  [[nodiscard]] int index(Hole hole) const;
  [[nodiscard]] const std::vector<Hole>& holes() const { return holes_; }

  /// The number of the hole that stands for all that are joined to this one.
  [[nodiscard]] int root(int hole) const;
  [[nodiscard]] int root(Hole hole) const { return root(index(hole)); }
  void join(int a, int b);

 private:
  std::vector<Hole> holes_;
  std::map<Hole, int> index_;
  std::vector<int> parents_;
};

/// Two holes that copper joins, of a board by itself or by what is soldered in.
struct Link {
  Hole from;
  Hole to;
  int join = -1;  ///< Index among the board's joins; -1: its own copper.
};

/// All links, the board's own copper first: strips but for their cuts, groups, rails;
/// then the joins, a bridge hole by hole.
[[nodiscard]] std::vector<Link> links_of(const Board& board);

/// The holes that a bridge covers, or its two ends where it is not a straight line of
/// neighbours.
[[nodiscard]] std::vector<Hole> holes_along(const Board& board, const Join& join);

/// Whether a bridge is a straight line of neighbouring holes.
[[nodiscard]] bool is_straight_bridge(const Board& board, const Join& join);

/// How long a join is, from hole to hole. Metre.
[[nodiscard]] double length_of(const Board& board, const Join& join);

/// The board with all links made.
[[nodiscard]] Islands islands_of(const Board& board);

}  // namespace benchproof
