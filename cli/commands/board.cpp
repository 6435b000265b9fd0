#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/files/write_value.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/proved_board.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/board/board_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/board/propose/propose.h"
#include "core/circuit/usually_off.h"
#include "core/circuit/write/tidy.h"
#include "core/circuit/write/write_board.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct BoardOptions {
  std::string file;
  std::string board;  ///< Name of [boards.NAME]; empty: the first.
  std::string svg;
  std::string kind;  ///< As given; empty: as described, else pads.
  int seed = 1;
  VersionChoice version;
  bool propose = false;
  bool write = false;
  bool json = false;
  bool allow_unsealed = false;
};

int refuse_with(const std::string& why) {
  const std::string line = printable("benchproof: " + why);
  write_error(wraps_errors() ? wrapped(line, 0, 2) : line + "\n");
  return kExitRefused;
}

/// The board that a description has none of: where parts stand that usually do.
Board usual_board(const Circuit& circuit) {
  Board board;
  for (const Part& part : circuit.parts)
    board.is_off.push_back(is_usually_off(part.kind));
  return board;
}

/// The board that is asked for; null after a complaint.
const Board* find_board(const Circuit& circuit, const std::string& name) {
  if (name.empty()) return &circuit.boards.front();
  std::vector<std::string> names;
  for (const Board& board : circuit.boards) {
    if (board.name == name) return &board;
    if (!board.name.empty()) names.push_back(board.name);
  }
  const std::string near = nearest(name, names);
  refuse_with(fmt::format("there is no board '{}'; {}", name,
                          names.empty() ? "the description has no [boards.NAME]"
                                        : names_hint(near, names, "boards")));
  return nullptr;
}

/// Whether the text is read as the same circuit with that board.
bool is_same_board(const BoardReport& report, const Catalogue& built_in,
                   const std::string& text) {
  FileReport changed = report.file;
  changed.source = text;
  const FileReport again = read_version(changed, built_in, {});
  if (!again.circuit || !same_wiring(*report.file.circuit, *again.circuit))
    return false;
  return std::any_of(again.circuit->boards.begin(), again.circuit->boards.end(),
                     [&report](const Board& board) {
                       const auto is_same_join = [](const Join& a, const Join& b) {
                         return a.from == b.from && a.to == b.to && a.kind == b.kind;
                       };
                       return board.name == report.board.name &&
                              board.columns == report.board.columns &&
                              board.rows == report.board.rows &&
                              board.places.size() == report.board.places.size() &&
                              std::equal(board.joins.begin(), board.joins.end(),
                                         report.board.joins.begin(),
                                         report.board.joins.end(), is_same_join);
                     });
}

/// Puts a proposed board into the file. Returns why it could not, or nothing.
std::string write_into_file(const BoardReport& report, const Board& before,
                            bool is_described, const Catalogue& built_in,
                            const std::string& path) {
  const WrittenBoard written = write_board(report.file.source, *report.file.circuit,
                                           before, report.board, is_described);
  if (!written.failure.empty()) return written.failure;
  if (!is_same_board(report, built_in, written.text))
    return "the text could not be read back as this board";
  return rewrite_file(path, report.file.source, written.text);
}

void check_options(const BoardOptions& options) {
  if (options.write && !options.propose)
    throw UsageError("--write", "it needs --propose");
  if (options.write && options.file == "-")
    throw UsageError("--write", "it needs a file");
  if (options.write &&
      (!options.version.variant.empty() || !options.version.changes.empty()))
    throw UsageError("--write", "it is for the description as it stands");
}

/// Puts the board into the report that is asked for, or the one to begin a proposal
/// from. Returns why that cannot be, in a status and on standard error, or nothing.
std::optional<int> choose_board(const BoardOptions& options, BoardReport& report) {
  const Circuit& circuit = *report.file.circuit;
  const bool is_described = !circuit.boards.empty();
  if (!is_described && !options.propose)
    return refuse_with("the description has no [board]; --propose finds one");
  if (is_described || !options.board.empty()) {
    const Board* board = find_board(circuit, options.board);
    if (board == nullptr) return kExitRefused;
    report.board = *board;
  } else {
    report.board = usual_board(circuit);
  }
  if (options.kind.empty()) return std::nullopt;
  const bool is_empty = report.board.places.empty() && report.board.joins.empty();
  if (!options.propose || (is_described && !is_empty))
    return refuse_with(
        "--kind is for a board on which nothing is placed yet, with "
        "--propose");
  report.board.kind = options.kind == "strips"   ? BoardKind::strips
                      : options.kind == "groups" ? BoardKind::groups
                                                 : BoardKind::pads;
  if (report.board.kind == BoardKind::groups && report.board.columns > 0)
    report.board.rows = kGroupRows;
  return std::nullopt;
}

/// Proposes what is to be placed yet, if that is asked for, and proves the board.
void prove(const BoardOptions& options, BoardReport& report) {
  const Circuit& circuit = *report.file.circuit;
  const std::vector<double> watts = most_watts(circuit, report.file.verification);
  if (watts.empty()) report.without_heat = kWithoutHeat;
  if (options.propose) {
    const Proposal proposal = propose_board(circuit, report.board, watts,
                                            {static_cast<unsigned>(options.seed), 100});
    report.board = proposal.board;
    report.is_proposed = true;
  }
  report.proof = prove_board(circuit, report.board, watts);
  report.bounds = join_bounds(circuit, report.board, report.proof);
  report.need = area_need(circuit, report.board);
}

/// Proves a board, and writes what it came to. Returns the exit status.
int run_board(const BoardOptions& options) {
  check_options(options);
  const Wishes asked = asked_version(options.version);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  BoardReport report;
  report.file = read_description(options.file, catalogue, asked, {});
  if (!report.file.circuit) return refuse(report.file, options.json);
  const Circuit& circuit = *report.file.circuit;
  if (const auto refused = choose_board(options, report)) return *refused;
  const Board before = report.board;

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  report.file.verification = verify(circuit, by.engine, by.nodal);
  session.finish();
  progress.end();
  prove(options, report);

  if (options.write && !has_fault(report))
    if (const std::string failure = write_into_file(
            report, before, !circuit.boards.empty(), catalogue, options.file);
        !failure.empty())
      return refuse_with(fmt::format("{}: not written: {}", options.file, failure));
  if (!options.svg.empty())
    if (const std::string failure = write_file(options.svg, board_svg(report));
        !failure.empty())
      return refuse_with(fmt::format("{}: not written: {}", options.svg, failure));
  const std::string text =
      options.json ? board_json(report) + "\n" : board_text(report, wants_colour());
  return write_last(text, has_fault(report) ? kExitFault : kExitGood);
}

}  // namespace

Command board_command() {
  const auto given = std::make_shared<BoardOptions>();
  Options options;
  add_description(options, given->file);
  options.text("--board", "NAME", "the board of [boards.NAME]; else the first",
               given->board);
  options.text("--svg", "FILE", "draw both sides there, 1:1 in millimetres", given->svg)
      .names(Meaning::file);
  options.flag("--propose", "place and join all others", given->propose);
  options.text("--kind", "WORD", "of a new board", given->kind).choices = {
      "pads", "strips", "groups"};
  options.number("--seed", "N", "another one proposes another board", given->seed, 0,
                 1'000'000'000);
  options.flag("--write", "put what is proposed into the file", given->write);
  add_version_choice(options, given->version);
  options.flag("--json", "as JSON", given->json);
  add_unsealed(options, given->allow_unsealed);
  return {"board", "prove a board of holes and copper, and draw it", std::move(options),
          [given] { return run_board(*given); }};
}

}  // namespace benchproof
