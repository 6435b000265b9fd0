#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "cli/render/board/board_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/findings_text.h"
#include "core/base/diagnostic.h"
#include "core/board/places/islands.h"

namespace benchproof {
namespace {

std::string millimetres(double metres) {
  return fmt::format("{:.4g} mm", std::round(metres * 1e5) / 1e2);
}

const Part& part_of(const BoardReport& report, const Footprint& foot) {
  return report.file.circuit->parts[static_cast<std::size_t>(foot.part)];
}

/// What one reads on a part: its type, colour or value.
std::string what(const Part& part) {
  if (part.type != nullptr && !word_of(part, "colour").empty())
    return word_of(part, "colour");
  if (part.type != nullptr) return part.type->name;
  if (const auto value = figure(part, "value"))
    return format_quantity(value->value, value->unit);
  return std::string(kind(part.kind).name);
}

std::string head_text(const BoardReport& report, bool colour) {
  const Board& board = report.board;
  std::string text = title_lines(report.file.circuit->title, colour);
  const std::string name =
      board.name.empty() ? "" : fmt::format(" '{}'", printable(board.name));
  if (board.columns == 0)
    return text + fmt::format("board{}: {}, its size is not told yet\n", name,
                              board_kind_word(board.kind));
  text += wrapped(
      fmt::format("board{}: {}, {} columns by {} rows{}, {} by {}", name,
                  board_kind_word(board.kind), board.columns, board.rows,
                  board.rails > 0 ? fmt::format(" and {} rails", board.rails) : "",
                  millimetres(board.columns * kPitch),
                  millimetres(pitches_deep(board) * kPitch)),
      0, 2);
  if (report.proof.highest >= 0)
    text += wrapped(
        fmt::format(
            "highest: '{}', {}",
            report.file.circuit->parts[static_cast<std::size_t>(report.proof.highest)]
                .name,
            millimetres(report.proof.height)),
        2, 4);
  return text;
}

std::string pictures_text(const BoardReport& report) {
  if (report.board.columns == 0 || report.board.places.empty()) return {};
  std::string text =
      "\nparts' side (number of a lead's part; + plus or anode, * lead 1, w a wire\n"
      "from a part off the board, : under a body, o a wire's or jumper's end)\n";
  text += parts_side_text(report);
  text +=
      "\ncopper side, turned over: column 1 is at the right (letter of a lead's net;\n"
      "- and | a bridge";
  text += report.board.kind == BoardKind::strips ? ", = a strip, X a cut)\n" : ")\n";
  return text + copper_side_text(report);
}

std::string parts_list(const BoardReport& report) {
  std::vector<TableRow> rows;
  for (std::size_t f = 0; f < report.proof.feet.size(); ++f) {
    const Footprint& foot = report.proof.feet[f];
    const Part& part = part_of(report, foot);
    std::vector<std::string> pins;
    for (std::size_t lead = 0; lead < foot.lead_holes.size(); ++lead) {
      const int pin = foot.pin_of_lead[lead];
      if (!foot.has_hole[lead] || pin < 0) continue;
      pins.push_back(fmt::format("{} {}", part.pins[static_cast<std::size_t>(pin)],
                                 hole_name(report.board, foot.lead_holes[lead])));
    }
    std::string how = foot.is_off        ? "off the board"
                      : foot.is_standing ? "standing"
                      : foot.is_flat     ? "flat"
                                         : "";
    if (!foot.is_off && foot.faces && is_polarised(part))
      how += fmt::format("{}mark {}", how.empty() ? "" : ", ", side_word(*foot.faces));
    else if (!foot.is_off && foot.faces && foot.shape->leads > 2)
      how += fmt::format("{}faces {}", how.empty() ? "" : ", ", side_word(*foot.faces));
    if (!how.empty()) pins.push_back(fmt::format("({})", how));
    rows.push_back({{std::to_string(number_of_place(report, f)), part.name, what(part)},
                    std::move(pins)});
  }
  return rows.empty() ? "" : "\nparts\n" + table(rows, "rll", 2);
}

std::string joins_list(const BoardReport& report) {
  const Board& board = report.board;
  if (board.joins.empty() && board.cuts.empty()) return {};
  const Islands islands = islands_of(board);
  std::vector<TableRow> rows;
  for (const Join& join : board.joins) {
    std::string net = "-";
    for (const BoardIsland& island : report.proof.islands)
      if (islands.root(island.holes.front()) == islands.root(join.from))
        net = fmt::format(
            "{} {}", net_letters(island.net),
            report.file.circuit->nets[static_cast<std::size_t>(island.net)].name);
    rows.push_back(
        {{std::string(join_word(join.kind)),
          fmt::format("{} to {}", hole_name(board, join.from),
                      hole_name(board, join.to)),
          millimetres(length_of(board, join)), net, printable(join.colour)}});
  }
  std::string text;
  if (!rows.empty()) text += "\njoins\n" + table(rows, "llrll", 2);
  if (!board.cuts.empty()) {
    std::vector<std::string> cuts;
    for (const Cut& cut : board.cuts) cuts.push_back(hole_name(board, cut.hole));
    text += wrapped(fmt::format("cuts: {}", fmt::join(cuts, ", ")), 2, 4);
  }
  return text;
}

std::string nets_list(const BoardReport& report) {
  std::vector<std::string> cells;
  for (std::size_t net = 0; net < report.file.circuit->nets.size(); ++net)
    cells.push_back(fmt::format("{} {}", net_letters(static_cast<int>(net)),
                                report.file.circuit->nets[net].name));
  return "\nnets\n" + in_columns(cells, 2);
}

std::string bounds_text(const BoardReport& report) {
  const JoinBounds& bounds = report.bounds;
  if (report.board.places.empty()) return {};
  return wrapped(
      fmt::format("{} of {} in all; {} could do at the fewest, and the shortest trees "
                  "between these holes come to {}",
                  counted(static_cast<std::size_t>(bounds.joins), "join"),
                  millimetres(bounds.metres), bounds.fewest, millimetres(bounds.trees)),
      0, 2);
}

std::string need_text(const BoardReport& report) {
  const Board& board = report.board;
  const AreaNeed& need = report.need;
  std::string text = wrapped(
      fmt::format("an estimate before anything is placed: about {} by {}, {} high{}",
                  millimetres(std::ceil(need.width * 1e3) * 1e-3),
                  millimetres(std::ceil(need.depth * 1e3) * 1e-3),
                  millimetres(need.height),
                  need.flat_height < need.height
                      ? fmt::format(", {} with all laid flat that can be",
                                    millimetres(need.flat_height))
                      : std::string()),
      0, 2);
  const bool is_short = (board.width && *board.width * board.depth.value_or(1.0) <
                                            need.width * need.depth) ||
                        (board.height && *board.height < need.flat_height);
  if (is_short)
    text += wrapped(
        "the space is likely too small for that: fewer parts on the board, "
        "or more room",
        0, 2);
  return text;
}

}  // namespace

bool has_fault(const BoardReport& report) {
  return std::any_of(
      report.proof.findings.begin(), report.proof.findings.end(),
      [](const Finding& finding) { return finding.severity == Severity::fault; });
}

std::string board_text(const BoardReport& report, bool colour) {
  std::string text = head_text(report, colour);
  text += need_text(report);
  text += pictures_text(report);
  text += parts_list(report);
  if (!report.board.places.empty()) text += nets_list(report);
  text += joins_list(report);
  const std::string bounds = bounds_text(report);
  if (!bounds.empty()) text += "\n" + bounds;
  if (!report.without_heat.empty())
    text +=
        wrapped(fmt::format("heat was not looked at: {}", report.without_heat), 0, 2);
  text += "\n" + findings_section(report.proof.findings, report.file.file, colour);
  const bool is_bad = has_fault(report);
  const std::string verdict =
      is_bad ? "not proved: this board does not join what the nets say, or does not fit"
      : report.is_proposed
          ? "proved: what is proposed joins what the nets say, and nothing else"
          : "proved: this board joins what the nets say, and nothing else";
  text += inked(verdict, is_bad ? Ink::fault : Ink::strong, colour) + "\n";
  if (report.file.verification.verdict == Verdict::fault)
    text += wrapped(
        "The circuit itself has a fault, on any board: do not build it before "
        "'verify' finds none.",
        0, 2);
  return text +
         wrapped(
             "Soldering: the iron and what it touched burn; work in moving air, eyes "
             "protected, with the supply unplugged.",
             0, 2);
}

}  // namespace benchproof
