#pragma once

#include <string>

#include "cli/render/verify/report.h"
#include "core/board/proof/bounds.h"
#include "core/board/proof/proof.h"

namespace benchproof {

/// A board, proved, and the description that it belongs to.
struct BoardReport {
  FileReport file;
  Board board;
  BoardProof proof;
  JoinBounds bounds;
  AreaNeed need;
  bool is_proposed = false;  ///< Not all of it stands in the file.
  std::string without_heat;  ///< Why heat was not looked at; empty where it was.
};

/// Whether a finding of the proof is a fault.
[[nodiscard]] bool has_fault(const BoardReport& report);

/// The report for people: at most kLineWidth columns but for boards of more than 25
/// columns, which are drawn in stretches. Pictures, parts, joins, findings.
[[nodiscard]] std::string board_text(const BoardReport& report, bool colour);

/// As a JSON object, layout 1; without a final line feed. SI units, never rounded.
[[nodiscard]] std::string board_json(const BoardReport& report);

/// How holes and pads are drawn: each a circle, or those of a side as the dots of one
/// path, a third as long, whose classes rim, pad and hole a page's style draws.
enum class HoleMarks { circles, dots };

/// Both sides as a drawing in SVG 1.1, 1:1 in millimetres: the parts' side, and below
/// it the copper side as one sees it when the board is turned over. Nets are told by
/// line style, name and colour.
[[nodiscard]] std::string board_svg(const BoardReport& report,
                                    HoleMarks marks = HoleMarks::circles);

/// One side of a board as text: a row a line, three columns a hole.
[[nodiscard]] std::string parts_side_text(const BoardReport& report);
[[nodiscard]] std::string copper_side_text(const BoardReport& report);

/// The number that a placed part has in pictures, from 1.
[[nodiscard]] int number_of_place(const BoardReport& report, std::size_t foot);

/// The holes at which its strips are cut.
[[nodiscard]] std::vector<std::string> cut_names(const Board& board);

/// What shows where a net stands in pictures: "a" ... "z", "aa" ...
[[nodiscard]] std::string net_letters(int net);

}  // namespace benchproof
