#include "core/circuit/board.h"

#include <array>

namespace benchproof {
namespace {

constexpr std::array<std::string_view, 4> kSides = {"north", "east", "south", "west"};
constexpr std::array<std::string_view, 3> kKinds = {"pads", "strips", "groups"};
constexpr std::array<std::string_view, 3> kJoins = {"bridge", "wire", "jumper"};
constexpr std::array<std::string_view, 4> kRails = {"+T", "-T", "+B", "-B"};
constexpr std::array<int, 4> kRailRows = {-2, -1, kGroupRows, kGroupRows + 1};
constexpr int kLetters = 26;
/// Rows E and F lie three pitches apart: two more than neighbours.
constexpr int kGap = 2;
/// Between a rail and the nearest lettered row: two pitches more than neighbours.
constexpr int kRailGap = 2;
constexpr int kRailPitches = 2 + kRailGap;

std::string row_name(int row) {
  std::string name;
  for (int rest = row + 1; rest > 0; rest = (rest - 1) / kLetters)
    name.insert(name.begin(), static_cast<char>('A' + (rest - 1) % kLetters));
  return name;
}

}  // namespace

std::string_view side_word(Side side) { return kSides[static_cast<std::size_t>(side)]; }

std::optional<Side> find_side(std::string_view word) {
  for (std::size_t k = 0; k < kSides.size(); ++k)
    if (kSides[k] == word) return static_cast<Side>(k);
  return std::nullopt;
}

std::string_view board_kind_word(BoardKind kind) {
  return kKinds[static_cast<std::size_t>(kind)];
}

std::string_view join_word(JoinKind kind) {
  return kJoins[static_cast<std::size_t>(kind)];
}

std::string hole_name(const Board& board, Hole hole) {
  const std::string column = std::to_string(hole.column + 1);
  if (board.kind == BoardKind::groups)
    for (std::size_t k = 0; k < kRails.size(); ++k)
      if (hole.row == kRailRows[k]) return std::string(kRails[k]) + column;
  return row_name(hole.row) + column;
}

std::optional<Hole> parse_hole(const Board& board, std::string_view name) {
  Hole hole{0, 0};
  std::size_t at = 0;
  if (name.starts_with('+') || name.starts_with('-')) {
    at = 2;
    bool is_rail = false;
    for (std::size_t k = 0; k < kRails.size(); ++k) {
      if (name.substr(0, at) != kRails[k]) continue;
      hole.row = kRailRows[k];
      is_rail = board.kind == BoardKind::groups;
    }
    if (!is_rail) return std::nullopt;
  } else {
    constexpr std::size_t kMostLetters = 2;
    while (at <= kMostLetters && at < name.size() && name[at] >= 'A' && name[at] <= 'Z')
      hole.row = hole.row * kLetters + (name[at++] - 'A' + 1);
    if (at == 0 || at > kMostLetters) return std::nullopt;
    --hole.row;
  }
  constexpr std::size_t kMostDigits = 4;
  if (at >= name.size() || name.size() - at > kMostDigits || name[at] == '0')
    return std::nullopt;
  for (; at < name.size(); ++at) {
    if (name[at] < '0' || name[at] > '9') return std::nullopt;
    hole.column = hole.column * 10 + (name[at] - '0');
  }
  --hole.column;
  // A lettered row beyond J is none of groups, and no rail either.
  if (board.kind == BoardKind::groups && hole.row >= kGroupRows && !name.empty() &&
      name.front() >= 'A')
    hole.row += 2;
  return hole;
}

bool has_hole(const Board& board, Hole hole) {
  if (hole.column < 0 || hole.column >= board.columns) return false;
  if (hole.row >= 0 && hole.row < board.rows) return true;
  if (board.kind != BoardKind::groups) return false;
  const bool is_north = hole.row == -2 || hole.row == -1;
  const bool is_south = hole.row == kGroupRows || hole.row == kGroupRows + 1;
  return (is_north && board.rails >= 2) || (is_south && board.rails >= 4);
}

std::vector<Hole> holes_of(const Board& board) {
  std::vector<Hole> holes;
  for (int row = -2; row < board.rows + 2; ++row)
    for (int column = 0; column < board.columns; ++column)
      if (has_hole(board, {row, column})) holes.push_back({row, column});
  return holes;
}

std::pair<int, int> pitches_of(const Board& board, Hole hole) {
  if (board.kind != BoardKind::groups) return {hole.column, hole.row};
  const int north = board.rails >= 2 ? kRailPitches : 0;
  if (hole.row < 0) return {hole.column, hole.row + 2};
  int south = north + hole.row;
  if (hole.row >= kGroupRows / 2) south += kGap;
  if (hole.row >= kGroupRows) south += kRailGap;
  return {hole.column, south};
}

int pitches_deep(const Board& board) {
  if (board.kind != BoardKind::groups) return board.rows;
  return board.rows + kGap + (board.rails / 2) * kRailPitches;
}

}  // namespace benchproof
