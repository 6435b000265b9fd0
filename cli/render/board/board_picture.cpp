#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
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

}  // namespace

int number_of_place(const BoardReport&, std::size_t foot) {
  return static_cast<int>(foot) + 1;
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
  const Islands islands = islands_of(board);
  std::map<int, int> net_of_root;
  for (const BoardIsland& island : report.proof.islands)
    for (const Hole hole : island.holes)
      net_of_root.emplace(islands.root(hole), island.net);
  std::set<std::pair<Hole, Hole>> bridged;
  std::set<std::pair<Hole, Hole>> own;
  for (const Link& link : links_of(board)) {
    const auto pair = std::minmax(link.from, link.to);
    if (link.join < 0)
      own.insert(pair);
    else if (board.joins[static_cast<std::size_t>(link.join)].kind == JoinKind::bridge)
      bridged.insert(pair);
  }
  std::set<Hole> ends;
  for (const Join& join : board.joins)
    if (join.kind == JoinKind::wire && board.kind != BoardKind::groups) {
      ends.insert(join.from);
      ends.insert(join.to);
    }
  std::set<Hole> cuts;
  for (const Cut& cut : board.cuts) cuts.insert(cut.hole);
  std::set<Hole> used;
  for (const Footprint& foot : report.proof.feet)
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead)
      if (foot.has_hole[lead]) used.insert(foot.lead_holes[lead]);

  std::string text;
  for (const std::vector<int>& columns : stretches(board, true)) {
    std::string head = ruler(columns);
    trim(head);
    text += head + "\n";
    const std::vector<int> rows = rows_of(board);
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const int row = rows[r];
      if (board.kind == BoardKind::groups && row == kGroupRows / 2) text += "\n";
      std::string line = fmt::format("{:<3}", row_label(board, row));
      std::string below = "   ";
      for (const int column : columns) {
        const Hole hole{row, column};
        // To the right of a hole lies, on this side, the one in the west.
        const auto right = in_order(hole, Hole{row, column - 1});
        const auto under =
            in_order(hole, Hole{r + 1 < rows.size() ? rows[r + 1] : row, column});
        const auto net = net_of_root.find(islands.root(hole));
        const bool is_used = used.contains(hole);
        std::string cell = " . ";
        if (net != net_of_root.end()) {
          cell = fmt::format(" {:<2}", net_letters(net->second));
          if (!is_used && !ends.contains(hole)) cell = " . ";
        }
        if (cuts.contains(hole)) cell = " X ";
        if (bridged.contains(right))
          cell.back() = '-';
        else if (own.contains(right) && board.kind == BoardKind::strips)
          cell.back() = '=';
        const auto left = in_order(hole, Hole{row, column + 1});
        if (bridged.contains(left))
          cell.front() = '-';
        else if (own.contains(left) && board.kind == BoardKind::strips)
          cell.front() = '=';
        const bool is_on_bridge = bridged.contains(right) || bridged.contains(left);
        if (cell[1] == '.' && is_on_bridge) cell[1] = '-';
        line += cell;
        below += bridged.contains(under) ? " | " : "   ";
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
