#pragma once

#include <compare>

namespace benchproof {

/// A place in a text. Lines and columns count from 1; columns are bytes. 0 means
/// unknown.
struct Position {
  int line = 0;
  int column = 0;
  // NOLINTNEXTLINE(modernize-use-nullptr): the 0 is that of the comparison itself.
  friend auto operator<=>(const Position&, const Position&) = default;
};

/// A stretch of a text from `begin` up to, not including, `end`.
struct Span {
  Position begin;
  Position end;
  /// It stands in what was asked for beside the text (see Wishes), not in the text.
  bool in_change = false;
  /// Which of the files that the description takes blocks from it stands in, from 1;
  /// 0: in the description itself, -1: there within a block.
  int file = 0;
  friend bool operator==(const Span&, const Span&) = default;
};

}  // namespace benchproof
