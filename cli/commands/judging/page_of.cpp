#include "cli/commands/judging/page_of.h"

#include <algorithm>
#include <utility>
#include <vector>

#include "cli/commands/judging/foreseeing.h"
#include "cli/commands/judging/proved_board.h"
#include "cli/commands/judging/witnesses.h"
#include "core/board/proof/proof.h"
#include "core/diagnose/foreseen/meters.h"
#include "core/network/timeline.h"
#include "core/tolerance/tolerance.h"

namespace benchproof {
namespace {

/// What moves in each run that the witnesses agree on: the waveforms that were judged
/// are let go of, so the nodal witness follows the runs once more.
std::vector<RunCourse> courses_of(const FileReport& file, const Witnesses& by) {
  std::vector<RunCourse> courses;
  for (const RunResult& run : file.runs) {
    if (!run.agreement.agrees) continue;
    const Timeline timeline = make_timeline(*file.circuit, *run.run);
    const Waveform waveform = by.nodal_in_time(timeline, {}, 0);
    if (waveform.status != SolveStatus::solved) continue;
    courses.push_back(
        course_of(*file.circuit, *run.run, Record(*file.circuit, timeline, waveform)));
  }
  return courses;
}

/// What other sections keep of a description: what is judged of it at rest.
FileReport at_rest(const FileReport& file) {
  FileReport kept;
  kept.file = file.file;
  kept.changes = file.changes;
  kept.circuit = file.circuit;
  kept.verification = file.verification;
  kept.catalogue = file.catalogue;
  return kept;
}

/// The first board of the description, and the work on it.
void add_board(const FileReport& file, const Witnesses& by, PageReport& report) {
  if (file.circuit->boards.empty()) return;
  BoardReport board;
  board.file = at_rest(file);
  board.board = file.circuit->boards.front();
  const std::vector<double> watts = most_watts(*file.circuit, file.verification);
  if (watts.empty()) board.without_heat = kWithoutHeat;
  board.proof = prove_board(*board.file.circuit, board.board, watts);
  report.assembly.emplace();
  AssembleReport& work = *report.assembly;
  work.file = at_rest(file);
  work.assembly = assemble(*work.file.circuit, &work.file.circuit->boards.front(),
                           work.file.verification, by.engine, by.nodal);
  work.board_findings = board.proof.findings;
  report.board = std::move(board);
}

constexpr std::size_t kMostCopiesOfPage = 100'000;

}  // namespace

std::size_t usual_copies(const Circuit& circuit) {
  constexpr std::size_t kWork = 6'000'000;  // Parts times states times copies.
  constexpr std::size_t kFewest = 2'000;
  const std::size_t each =
      std::max<std::size_t>(1, circuit.parts.size() * circuit.states.size());
  return std::clamp(kWork / each, kFewest, kMostCopiesOfPage);
}

PageReport page_of(FileReport file, const Catalogue& built_in, EngineSession& session,
                   std::size_t copies) {
  PageReport report;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  const Circuit& circuit = *file.circuit;
  report.list = shopping_list(circuit, file.verification);
  report.courses = courses_of(file, by);
  add_board(file, by, report);
  report.meter = built_in_meters().front().meter;
  report.sheet = sheet_of(file, built_in, report.meter);
  if (agree_in_all_states(file.verification) && !file.verification.states.empty())
    report.spread = tolerance(circuit, file.verification, {copies, 1}, by.engine,
                              by.nodal, by.side_by_side);
  report.has_fewer_copies = copies < kMostCopiesOfPage;
  report.file = std::move(file);
  if (report.assembly)  // A page that is moved keeps what lies in vectors.
    report.assembly->assembly.board = &report.assembly->file.circuit->boards.front();
  return report;
}

}  // namespace benchproof
