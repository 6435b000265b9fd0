#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "cli/render/board/board_report.h"
#include "core/board/places/islands.h"

namespace benchproof {
namespace {

/// Holes side by side in one stretch: three columns each, beside a row's name.
constexpr int kStretch = 25;

std::string row_label(const Board& board, int row) {
  std::string name = hole_name(board, {row, 0});
  while (!name.empty() && name.back() >= '0' && name.back() <= '9') name.pop_back();
  return name;
}

std::vector<int> rows_of(const Board& board) {
  std::vector<int> rows;
  for (int row = -2; row < board.rows + 2; ++row)
    if (board.columns > 0 && has_hole(board, {row, 0})) rows.push_back(row);
  return rows;
}

/// The line of column numbers over a stretch: 1, 5, 10 ...
std::string ruler(const std::vector<int>& columns) {
  std::string line = "   ";
  for (const int column : columns) {
    const int number = column + 1;
    const bool is_told = number == 1 || number % 5 == 0;
    line += is_told ? fmt::format("{:>2} ", number) : "   ";
  }
  return line;
}

void trim(std::string& line) {
  while (!line.empty() && line.back() == ' ') line.pop_back();
}

std::vector<std::vector<int>> stretches(const Board& board, bool mirrored) {
  std::vector<std::vector<int>> all;
  for (int first = 0; first < board.columns; first += kStretch) {
    std::vector<int> columns;
    for (int k = first; k < std::min(first + kStretch, board.columns); ++k)
      columns.push_back(mirrored ? board.columns - 1 - k : k);
    all.push_back(std::move(columns));
  }
  return all;
}

/// What marks a lead, as one character: '+' plus or anode, '*' lead 1, 'w' a wire.
char mark_of(const Part& part, const Footprint& foot, std::size_t lead) {
  if (foot.is_off) {
    const int pin = foot.pin_of_lead[lead];
    const std::string_view name =
        pin >= 0 ? std::string_view(part.pins[static_cast<std::size_t>(pin)]) : "";
    return name == "plus" || name == "anode" ? '+' : 'w';
  }
  if (is_polarised(part)) return lead == 0 ? '+' : ' ';
  if (foot.shape->leads > 2) return lead == 0 ? '*' : ' ';
  return ' ';
}

/// The bodies as characters between the leads.
std::map<Hole, std::string> covered(const BoardReport& report) {
  std::map<Hole, std::string> cells;
  for (const Footprint& foot : report.proof.feet) {
    if (!foot.body) continue;
    const bool is_lying = foot.shape->form == ShapeForm::axial && !foot.is_standing;
    const bool is_row = is_lying && foot.lead_holes[0].row == foot.lead_holes[1].row;
    const bool is_column =
        is_lying && foot.lead_holes[0].column == foot.lead_holes[1].column;
    for (const Hole hole : holes_of(report.board)) {
      const bool is_between =
          (is_row && hole.row == foot.lead_holes[0].row &&
           hole.column >
               std::min(foot.lead_holes[0].column, foot.lead_holes[1].column) &&
           hole.column <
               std::max(foot.lead_holes[0].column, foot.lead_holes[1].column)) ||
          (is_column && hole.column == foot.lead_holes[0].column &&
           hole.row > std::min(foot.lead_holes[0].row, foot.lead_holes[1].row) &&
           hole.row < std::max(foot.lead_holes[0].row, foot.lead_holes[1].row));
      constexpr double kInside = -0.5e-3;
      const bool is_under =
          apart(*foot.body, circle(point_of(report.board, hole), 0.0)) < kInside;
      if (is_between)
        cells[hole] = is_row ? "---" : " | ";
      else if (is_under)
        cells[hole] = " : ";
    }
  }
  return cells;
}

std::pair<Hole, Hole> in_order(Hole a, Hole b) {
  return b < a ? std::pair(b, a) : std::pair(a, b);
}

/// What is on the copper side.
struct CopperSide {
  Islands islands;
  std::map<int, int> net_of_root = {};            ///< By the islands' roots.
  std::set<std::pair<Hole, Hole>> bridged = {};   ///< By solder.
  std::set<std::pair<Hole, Hole>> of_board = {};  ///< Joined by the board's own copper.
  std::set<Hole> ends = {};                       ///< Of wires.
  std::set<Hole> cuts = {};
  std::set<Hole> used = {};  ///< By leads.
};

CopperSide copper_side(const BoardReport& report) {
  const Board& board = report.board;
  CopperSide side{islands_of(board)};
  for (const BoardIsland& island : report.proof.islands)
    for (const Hole hole : island.holes)
      side.net_of_root.emplace(side.islands.root(hole), island.net);
  for (const Link& link : links_of(board)) {
    const auto pair = std::minmax(link.from, link.to);
    if (link.join < 0)
      side.of_board.insert(pair);
    else if (board.joins[static_cast<std::size_t>(link.join)].kind == JoinKind::bridge)
      side.bridged.insert(pair);
  }
  for (const Join& join : board.joins)
    if (join.kind == JoinKind::wire && board.kind != BoardKind::groups)
      side.ends.insert({join.from, join.to});
  for (const Cut& cut : board.cuts) side.cuts.insert(cut.hole);
  for (const Footprint& foot : report.proof.feet)
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (foot.has_hole[lead]) side.used.insert(foot.lead_holes[lead]);
  return side;
}

/// What is drawn between two holes of a row that lie beside each other; nothing where
/// no copper joins them.
std::optional<char> copper_between(const CopperSide& side, BoardKind kind, Hole one,
                                   Hole other) {
  const auto pair = in_order(one, other);
  if (side.bridged.contains(pair)) return '-';
  if (side.of_board.contains(pair) && kind == BoardKind::strips) return '=';
  return std::nullopt;
}

/// A hole and the copper on both sides of it, three signs.
std::string copper_cell(const CopperSide& side, BoardKind kind, Hole hole) {
  std::string cell = " . ";
  const auto net = side.net_of_root.find(side.islands.root(hole));
  if (net != side.net_of_root.end() &&
      (side.used.contains(hole) || side.ends.contains(hole)))
    cell = fmt::format(" {:<2}", net_letters(net->second));
  if (side.cuts.contains(hole)) cell = " X ";
  // To the right of a hole lies, on this side, the one in the west.
  const auto right = copper_between(side, kind, hole, {hole.row, hole.column - 1});
  const auto left = copper_between(side, kind, hole, {hole.row, hole.column + 1});
  if (right) cell.back() = *right;
  if (left) cell.front() = *left;
  if (cell[1] == '.' && (right == '-' || left == '-')) cell[1] = '-';
  return cell;
}

}  // namespace

int number_of_place(const BoardReport&, std::size_t foot) {
  return static_cast<int>(foot) + 1;
}

std::vector<std::string> cut_names(const Board& board) {
  std::vector<std::string> names;
  for (const Cut& cut : board.cuts) names.push_back(hole_name(board, cut.hole));
  return names;
}

std::string net_letters(int net) {
  constexpr int kLetters = 26;
  std::string text;
  for (int rest = net + 1; rest > 0; rest = (rest - 1) / kLetters)
    text.insert(text.begin(), static_cast<char>('a' + (rest - 1) % kLetters));
  return text;
}

std::string parts_side_text(const BoardReport& report) {
  const Board& board = report.board;
  std::map<Hole, std::string> cells = covered(report);
  for (const Join& join : board.joins)
    if (join.kind == JoinKind::jumper ||
        (join.kind == JoinKind::wire && board.kind == BoardKind::groups))
      for (const Hole hole : {join.from, join.to}) cells[hole] = " o ";
  for (std::size_t f = 0; f < report.proof.feet.size(); ++f) {
    const Footprint& foot = report.proof.feet[f];
    const Part& part = report.file.circuit->parts[static_cast<std::size_t>(foot.part)];
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (foot.has_hole[lead])
        cells[foot.lead_holes[lead]] = fmt::format(
            "{:>2}{}", number_of_place(report, f), mark_of(part, foot, lead));
  }
  std::string text;
  for (const std::vector<int>& columns : stretches(board, false)) {
    std::string head = ruler(columns);
    trim(head);
    text += head + "\n";
    for (const int row : rows_of(board)) {
      if (board.kind == BoardKind::groups && row == kGroupRows / 2) text += "\n";
      std::string line = fmt::format("{:<3}", row_label(board, row));
      for (const int column : columns) {
        const auto cell = cells.find({row, column});
        line += cell != cells.end() ? cell->second : " . ";
      }
      trim(line);
      text += line + "\n";
    }
  }
  return text;
}

std::string copper_side_text(const BoardReport& report) {
  const Board& board = report.board;
  const CopperSide side = copper_side(report);
  const std::vector<int> rows = rows_of(board);
  std::string text;
  for (const std::vector<int>& columns : stretches(board, true)) {
    std::string head = ruler(columns);
    trim(head);
    text += head + "\n";
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const int row = rows[r];
      const int next = r + 1 < rows.size() ? rows[r + 1] : row;
      if (board.kind == BoardKind::groups && row == kGroupRows / 2) text += "\n";
      std::string line = fmt::format("{:<3}", row_label(board, row));
      std::string below = "   ";
      for (const int column : columns) {
        line += copper_cell(side, board.kind, {row, column});
        const bool is_bridged =
            side.bridged.contains(in_order({row, column}, {next, column}));
        below += is_bridged ? " | " : "   ";
      }
      trim(line);
      trim(below);
      text += line + "\n";
      if (!below.empty()) text += below + "\n";
    }
  }
  return text;
}

}  // namespace benchproof
