#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/assemble/assemble_report.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic.h"
#include "core/board/proof/proof.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct AssembleOptions {
  std::string file;
  std::string board;  ///< Empty: the first one.
  bool by_nets = false;
  VersionChoice version;
  bool sheet = false;
  bool csv = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// The board asked for, the first of the description if none is; null without any.
const Board* chosen_board(const Circuit& circuit, const AssembleOptions& options) {
  if (options.by_nets) return nullptr;
  const std::string& name = options.board;
  if (name.empty()) return circuit.boards.empty() ? nullptr : &circuit.boards.front();
  std::vector<std::string> names;
  for (const Board& board : circuit.boards) {
    if (board.name == name) return &board;
    if (!board.name.empty()) names.push_back(board.name);
  }
  throw UsageError(
      "--board",
      fmt::format("there is no board {}; {}", quoted(name),
                  names.empty() ? "the description names none"
                                : names_hint(nearest(name, names), names, "boards")));
}

/// Judges every steady state of the description and writes how it is built. Returns the
/// exit status: that of the verdict on these states, or a fault of the board.
int run_assemble(const AssembleOptions& options) {
  const Wishes asked = asked_version(options.version);
  if (options.sheet && (options.csv || options.json))
    throw UsageError("--sheet", "is for people: without --csv and --json");
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, options.json);

  const Board* board = chosen_board(*file.circuit, options);
  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal);
  Assembly assembly =
      assemble(*file.circuit, board, file.verification, by.engine, by.nodal);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(failures_text(file) + seal_text(session));
  AssembleReport report{std::move(file), std::move(assembly)};
  // The circuit was moved, and its boards with it.
  report.assembly.board = chosen_board(*report.file.circuit, options);
  int status = exit_status(report.file.verification.verdict);
  if (report.assembly.board != nullptr) {
    report.board_findings =
        prove_board(*report.file.circuit, *report.assembly.board).findings;
    if (verdict_of(report.board_findings) == Verdict::fault)
      status = std::max(status, kExitFault);
  }
  const std::string text =
      options.json ? assemble_json(report) + "\n"
      : options.csv
          ? assemble_csv(report)
          : assemble_text(report, {wants_colour(), options.sheet}) + safety_text();
  return write_last(text, status);
}

}  // namespace

Command assemble_command() {
  const auto given = std::make_shared<AssembleOptions>();
  Options options;
  add_description(options, given->file);
  options.text("--board", "NAME", "on this board; else on the first", given->board);
  options.flag("--by-nets", "as if there were no board", given->by_nets).excludes =
      "--board";
  options.flag("--sheet", "with boxes to tick, to print", given->sheet);
  add_version_choice(options, given->version);
  add_data_formats(options, given->csv, given->json);
  add_unsealed(options, given->allow_unsealed);
  return {"assemble", "the order of building, and what to measure",
          std::move(options), [given] { return run_assemble(*given); }};
}

}  // namespace benchproof
