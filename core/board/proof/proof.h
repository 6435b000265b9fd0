#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/board/places/footprint.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// What gets warm, and how near that may be to an electrolytic. Common practice, no
/// source.
inline constexpr double kWarmWatts = 0.3;
inline constexpr double kWarmMetres = 5e-3;

/// Holes that copper and joins make one, with the net that stands there.
struct BoardIsland {
  int net = -1;
  std::vector<Hole> holes;  ///< Those in which a lead of the net stands.
};

/// What a board came to.
struct BoardProof {
  std::vector<Footprint> feet;       ///< One for each place.
  std::vector<Finding> findings;     ///< Sorted by severity.
  std::vector<BoardIsland> islands;  ///< In the order of the nets, then of the holes.
  double height = 0.0;               ///< Of what stands highest. Metre.
  int highest = -1;                  ///< Index of that part; -1 without bodies.
};

/// Proves a board against a circuit's nets: each net one island, no two joined, nothing
/// missing, leads and bodies where they can be, all within `space`. `watts` is what
/// each part turns into heat at most in any state (empty: not known); heat beside an
/// electrolytic is then looked at. Every finding names its hole.
[[nodiscard]] BoardProof prove_board(const Circuit& circuit, const Board& board,
                                     std::span<const double> watts = {});

/// A rough size that a circuit's parts need before any is placed: the sides of a board
/// of the usual shape, 4 to 3. Common practice: parts take half of a board. Metre.
struct AreaNeed {
  double width = 0.0;
  double depth = 0.0;
  double height = 0.0;       ///< Of the highest part, as it usually stands ...
  double flat_height = 0.0;  ///< ... and with that laid flat where it can be.
  int highest = -1;
};
[[nodiscard]] AreaNeed area_need(const Circuit& circuit, const Board& board);

/// The explanations of all findings of boards.
[[nodiscard]] std::span<const Explanation> explain_board();

}  // namespace benchproof
