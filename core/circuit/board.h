#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/span.h"

namespace benchproof {

/// A side of a board as seen from the parts' side: row A is in the north, column 1 in
/// the west.
enum class Side { north, east, south, west };

/// "north" ...
[[nodiscard]] std::string_view side_word(Side side);
[[nodiscard]] std::optional<Side> find_side(std::string_view word);

/// A hole by row and column, both from 0. On a board of groups rows -2 and -1 are the
/// rails "+T" and "-T", rows 10 and 11 "+B" and "-B".
struct Hole {
  int row = 0;
  int column = 0;
  // NOLINTNEXTLINE(modernize-use-nullptr): the 0 is that of the comparison itself.
  friend auto operator<=>(const Hole&, const Hole&) = default;
};

/// Which holes copper joins by itself.
enum class BoardKind {
  pads,    ///< None.
  strips,  ///< Those of a row, up to a cut.
  groups,  ///< Five and five of a column about a gap, and those of a rail.
};

/// "pads", "strips" or "groups".
[[nodiscard]] std::string_view board_kind_word(BoardKind kind);

/// Rows of holes of a board of groups, rails not counted; the first five are north of
/// the gap.
inline constexpr int kGroupRows = 10;
/// Larger boards are refused.
inline constexpr int kMostColumns = 200;
inline constexpr int kMostRows = 100;

/// Where one pin of a part stands, or the wire from it starts.
struct PlacedPin {
  int pin = -1;
  Hole hole;
  Span span;
};

/// Where a part is put.
struct Placement {
  int part = -1;
  std::vector<PlacedPin> pins;  ///< At least one.
  std::optional<Side> faces;    ///< To which its front looks.
  bool is_flat = false;         ///< Bent onto its back ...
  std::optional<Side> flat_to;  ///< ... to this side; else to its back.
  Span span;
};

enum class JoinKind {
  bridge,  ///< Solder along a straight line of neighbouring holes, on the copper side.
  wire,    ///< Insulated; on the copper side, on groups on the parts' side.
  jumper,  ///< Bare and straight on the parts' side.
};

/// "bridge", "wire" or "jumper".
[[nodiscard]] std::string_view join_word(JoinKind kind);

/// What joins two holes.
struct Join {
  Hole from;
  Hole to;
  JoinKind kind = JoinKind::wire;
  std::string colour;  ///< Of a wire; may be empty.
  Span span;
};

/// Copper taken away at a hole.
struct Cut {
  Hole hole;
  Span span;
};

/// Holes, copper, places of parts, joins, as described.
struct Board {
  std::string name;  ///< Of [boards.NAME]; empty for [board].
  BoardKind kind = BoardKind::pads;
  int columns = 0;  ///< 0: not told; then nothing is placed.
  int rows = 0;     ///< 0: not told; then nothing is placed.
  int rails = 0;    ///< Of groups: 0, 2 (in the north) or 4.
  std::vector<Cut> cuts;
  std::vector<bool> is_off;      ///< Per part: it stands off the board, on wires.
  std::optional<double> width;   ///< Greatest size from west to east. Metre.
  std::optional<double> depth;   ///< Greatest size from north to south. Metre.
  std::optional<double> height;  ///< Greatest height above the board. Metre.
  std::vector<Placement> places;
  std::vector<Join> joins;
  Span span;  ///< Of the table's key; unknown where nothing is described.
};

/// "B12", "AA3", "+T7".
[[nodiscard]] std::string hole_name(const Board& board, Hole hole);

/// Reads a hole's name; nothing where it is none. It may lie outside of the board.
[[nodiscard]] std::optional<Hole> parse_hole(const Board& board, std::string_view name);

/// Whether a board has that hole.
[[nodiscard]] bool has_hole(const Board& board, Hole hole);

/// All holes, row by row from the north.
[[nodiscard]] std::vector<Hole> holes_of(const Board& board);

/// Where a hole lies from the one in the north-west, rails included: pitches to the
/// east and to the south. The gap of groups is three pitches from E to F; a rail lies
/// two pitches and more beyond its neighbour.
[[nodiscard]] std::pair<int, int> pitches_of(const Board& board, Hole hole);

/// Pitches from north to south over all rows, which with `columns` gives the size.
[[nodiscard]] int pitches_deep(const Board& board);

}  // namespace benchproof
