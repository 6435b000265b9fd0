#pragma once

#include "core/board/proof/proof.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// What a board's joins come to, beside the least that could do for the same holes.
struct JoinBounds {
  int joins = 0;
  double metres = 0.0;  ///< Length of all joins.
  /// What the nets' pins need where each is joined by itself: one less than they have.
  int needed = 0;
  /// Fewest joins that could do with these places: a net's pieces (on strips and groups
  /// those that copper leaves), of which a wire joins two, and a bridge as many as lie
  /// on one stretch that no other net uses. No joins do with fewer; that some do with
  /// so many is not said.
  int fewest = 0;
  /// Sum over the nets of the shortest tree found between the holes of their leads,
  /// with further holes as branching points (one point at a time as long as that makes
  /// it shorter, after Kahng and Robins 1992). Metre.
  double trees = 0.0;
};

/// - [Kahng 1992] A. Kahng, G. Robins, "A new class of iterative Steiner tree
///                heuristics with good performance", IEEE Trans. CAD 11(7), 893-902.
[[nodiscard]] JoinBounds join_bounds(const Circuit& circuit, const Board& board,
                                     const BoardProof& proof);

/// The length of the shortest tree that joins points. Metre.
[[nodiscard]] double tree_length(const std::vector<Point>& points);

}  // namespace benchproof
