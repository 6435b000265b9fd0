#include <algorithm>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command.h"
#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/shared_options.h"
#include "cli/commands/witnesses.h"
#include "cli/commands/write_file.h"
#include "cli/render/page_report.h"
#include "cli/render/text.h"
#include "core/base/complaints.h"
#include "core/network/timeline.h"
#include "core/tolerance/tolerance.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct ReportOptions {
  std::string file;
  std::string output;
  bool all_variants = false;  ///< Held against the description.
  int copies = 100'000;
  VersionChoice version;
  bool allow_unsealed = false;
};

bool is_agreed(const Verification& verification) {
  return std::all_of(verification.states.begin(), verification.states.end(),
                     [](const StateResult& state) { return state.agrees; });
}

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

/// Judges what the page is about, and what it shows besides.
PageReport made_report(FileReport file, const ReportOptions& options,
                       const Catalogue& catalogue, const Wishes& asked,
                       EngineSession& session) {
  PageReport report;
  judge(file, session, {}, {}, true);
  explain(file, session);
  if (options.all_variants)
    for (const Variant& variant : file.circuit->variants) {
      Wishes in_variant = asked;
      in_variant.variant = variant.name;
      report.variants.push_back(read_version(file, catalogue, in_variant));
      if (report.variants.back().circuit)
        judge(report.variants.back(), session, {}, {}, true);
    }
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  const Circuit& circuit = *file.circuit;
  report.list = shopping_list(circuit, file.verification);
  report.courses = courses_of(file, by);
  if (is_agreed(file.verification) && !file.verification.states.empty())
    report.spread = tolerance(circuit, file.verification,
                              {static_cast<std::size_t>(options.copies), 1}, by.engine,
                              by.nodal, by.side_by_side);
  report.file = std::move(file);
  return report;
}

/// Writes the page. Returns the exit status: that of the verdict on the description.
int run_report(const ReportOptions& options) {
  const Wishes asked = asked_version(options.version);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, false);
  StillSolving progress;
  const PageReport report =
      made_report(std::move(file), options, catalogue, asked, session);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(failures_text(report.file) + seal_text(session));
  int status = exit_status(verdict_of(report.file));
  for (const FileReport& variant : report.variants)
    if (!variant.circuit) {
      write_error(complaints_text(variant, wraps_errors()));
      status = std::max(status, kExitRefused);
    }
  const std::string page = page_html(report);
  if (options.output.empty()) return write_last(page, status);
  if (const std::string failure = write_file(options.output, page); !failure.empty()) {
    write_error("benchproof: " + benchproof::quoted(options.output) + ": " + failure +
                "\n");
    return std::max(status, kExitRefused);
  }
  return status;
}

}  // namespace

Command report_command() {
  const auto given = std::make_shared<ReportOptions>();
  Options options;
  add_description(options, given->file);
  options.text("-o", "OUT", "the file to write; else standard output", given->output)
      .names(Meaning::file);
  add_version_choice(options, given->version).excludes = "--all-variants";
  options.flag("--all-variants", "each variant too, held against the description",
               given->all_variants);
  options.number("--copies", "N", "how many copies are made", given->copies, 1,
                 kMostCopies);
  add_unsealed(options, given->allow_unsealed);
  return {"report", "all that is known of a circuit as one HTML page",
          std::move(options), [given] { return run_report(*given); }};
}

}  // namespace benchproof
