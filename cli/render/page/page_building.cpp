// The sections of a page that are for the bench: board, build steps, readings.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <string>
#include <vector>

#include "cli/render/diagram/diagram_svg.h"
#include "cli/render/page/page_report.h"
#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/state_text.h"

namespace benchproof {
namespace {

/// The drawing of both sides as an element of the page.
std::string board_element(const BoardReport& board) {
  std::string svg = board_svg(board, HoleMarks::dots);
  svg.erase(0, svg.find("<svg"));
  svg.insert(4,
             " class=\"board\" role=\"img\" aria-label=\"The board: its parts' side, "
             "and below it the copper side as one sees it when it is turned over\"");
  return svg;
}

/// The lines of a text as one.
std::string one_line(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool is_blank = c == ' ' || c == '\n';
    if (is_blank && (line.empty() || line.back() == ' ')) continue;
    line += is_blank ? ' ' : c;
  }
  while (line.ends_with(' ')) line.pop_back();
  return line;
}

}  // namespace

std::string board_html(const PageReport& report) {
  if (!report.board) return {};
  const BoardReport& board = *report.board;
  std::string text;
  std::vector<std::string> others;
  for (const Board& other : report.file.circuit->boards)
    if (other.name != board.board.name) others.push_back("'" + other.name + "'");
  if (!board.board.name.empty())
    text += fmt::format(
        "<p>Board '{}'.{}</p>\n", markup_text(board.board.name),
        others.empty()
            ? ""
            : markup_text(fmt::format(" 'benchproof board --board' shows {} as well.",
                                      fmt::join(others, " and "))));
  std::string items;
  for (const Finding& finding : board.proof.findings)
    items += fmt::format(
        "<li><strong class=\"{0}\">{1}</strong>: {2}</li>\n",
        finding.severity == Severity::note ? "soft" : severity_word(finding.severity),
        severity_word(finding.severity), markup_text(plain_text(finding.message)));
  text += items.empty()
              ? std::string(
                    "<p>Its copper, bridges and wires join what the nets say, "
                    "and its parts have room.</p>\n")
              : "<ul>\n" + items + "</ul>\n";
  return text +
         "<div class=\"scroll\" tabindex=\"0\" role=\"group\" "
         "aria-label=\"Both sides of the board\">\n" +
         board_element(board) + "</div>\n";
}

std::string steps_html(const PageReport& report) {
  if (!report.assembly) return {};
  return page_lines(assemble_text(*report.assembly, {false, true}),
                    "The order of the work, with boxes to tick");
}

std::string readings_html(const PageReport& report) {
  if (!report.sheet) return {};
  const Sheet& sheet = *report.sheet;
  std::string text = fmt::format(
      "<p>With the meter '{}'. {} faults are looked for; readings tell {} cases apart, "
      "those marked * as many as all together. {}</p>\n",
      markup_text(plain_text(report.meter.name)), sheet.faults.size(), sheet.classes,
      markup_text(one_line(measuring_cautions())));
  std::string heading;
  std::vector<std::vector<PageCell>> rows;
  const auto close = [&] {
    if (!rows.empty())
      text += page_table(heading, {"what", "must show", "found", "else look for"},
                         "llll", rows);
    rows.clear();
  };
  for (const SheetLine& line : sheet.lines) {
    if (!is_usual(line)) continue;
    const std::string here = condition_heading(line.question);
    if (here != heading) close();
    heading = here;
    rows.push_back(
        {{asked_words(line.question) + (line.is_worth_taking ? " *" : ""), {}},
         {must_show_text(line), line.least},
         {"", {}},
         {line.is_worth_taking ? pointed_text(sheet, line) : "", {}}});
  }
  close();
  return text;
}

}  // namespace benchproof
