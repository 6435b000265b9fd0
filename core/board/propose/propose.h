#pragma once

#include <span>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// How a board is looked for.
struct ProposeOptions {
  unsigned seed = 1;  ///< The same seed gives the same board.
  int effort = 100;   ///< Hundredths of the usual number of trials; 1 or more.
};

/// A board on which everything is placed and joined.
struct Proposal {
  Board board;             ///< With what was given, and what was added to it.
  bool is_proved = false;  ///< It has no fault.
  std::string reason;      ///< Why it is not proved; empty where it is.
};

/// Places and joins what is not: parts that stand nowhere, wires' starts of parts off
/// the board, nets that lie in pieces. What is given stays. The size, where none is
/// given, is the smallest that is found within the board's space.
///
/// Places are found by simulated annealing [Kirkpatrick 1983] on the length of the
/// shortest trees between the leads of each net, the number of joins, the size of the
/// board, and what stands against building it; joins then follow these trees. Number of
/// trials goes by the number of parts, not by a clock.
///
/// - [Kirkpatrick 1983] S. Kirkpatrick, C. Gelatt, M. Vecchi, "Optimization by
/// simulated
///                      annealing", Science 220, 671-680.
[[nodiscard]] Proposal propose_board(const Circuit& circuit, const Board& given,
                                     std::span<const double> watts = {},
                                     const ProposeOptions& options = {});

/// Joins the pieces of every net of a board on which all is placed; cuts strips where
/// two nets meet. What cannot be joined stays as it is.
[[nodiscard]] Board route_board(const Circuit& circuit, const Board& placed);

}  // namespace benchproof
