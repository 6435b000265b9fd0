#include "core/tolerance/tolerance.h"

#include <cmath>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/tolerance/tolerance_report.h"
#include "cli/render/verify/text.h"
#include "core/base/quantity.h"
#include "core/tolerance/one_copy.h"

namespace benchproof {
namespace {

struct ToleranceOptions {
  std::string file;
  VersionChoice version;
  std::vector<std::string> states;
  int copies = 100'000;
  bool runs = false;    ///< Runs are looked at, too.
  int run_copies = -1;  ///< Copies that go through them; -1: as is usual.
  int seed = 1;
  std::string fail_under;  ///< "99%"; empty: no such demand.
  int copy = -1;           ///< The one copy that is shown; -1: none.
  bool spreads = false;
  bool json = false;
  bool csv = false;
  bool allow_unsealed = false;
};

/// The share of copies that must work; nothing where none is asked for.
std::optional<double> wanted_share(const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto share = parse_quantity(text, Unit::fraction);
  if (const double* value = std::get_if<double>(&share);
      value != nullptr && *value > 0.0 && *value <= 1.0)
    return *value;
  throw UsageError("--fail-under", "takes a share like 99%");
}

/// Shows one copy as `verify` sees it. Returns the exit status.
int show_copy(const ToleranceOptions& options, FileReport& file,
              EngineSession& session) {
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  OneCopy copy = one_copy(*file.circuit, static_cast<std::size_t>(options.copy),
                          static_cast<std::uint64_t>(options.seed), options.states,
                          by.engine, by.nodal);
  file.verification = std::move(copy.verification);
  session.finish();
  write_error(seal_text(session) + failures_text(file));
  const CopyReport report{file, copy, static_cast<std::size_t>(options.copy),
                          static_cast<std::uint64_t>(options.seed)};
  const std::string text = options.json
                               ? copy_json(report) + "\n"
                               : copy_text(report, wants_colour()) + safety_text();
  return write_last(text, exit_status(verdict_of(file)));
}

void look_at_runs(const ToleranceOptions& options, const Witnesses& by,
                  FileReport& file, ToleranceResult& result) {
  if (!options.runs || file.circuit->runs.empty()) return;
  const RunsAtOnce at_once{by.side_by_side, by.another_engine};
  file.runs =
      verify_runs(*file.circuit, by.engine_in_time, by.nodal_in_time, {}, at_once);
  RunWishes wishes;
  if (options.run_copies > 0)
    wishes.copies = static_cast<std::size_t>(options.run_copies);
  wishes.seed = static_cast<std::uint64_t>(options.seed);
  result.runs =
      tolerance_of_runs(*file.circuit, file.runs, result.fails_at_rest, wishes,
                        {by.engine_in_time, by.nodal_in_time, at_once});
}

int run_tolerance(const ToleranceOptions& options) {
  const Wishes asked = asked_version(options.version);
  const std::optional<double> wanted = wanted_share(options.fail_under);
  if (options.copy >= 0 && (options.csv || wanted))
    throw UsageError("--copy", "shows one copy: without --csv and --fail-under");
  if (options.run_copies >= 0 && !options.runs)
    throw UsageError("--run-copies", "goes with --runs");
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, asked, options.states);
  if (!file.circuit) return refuse(file, options.json);
  if (options.copy >= 0) return show_copy(options, file, session);
  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal, options.states,
                             Supplies::doubted, by.side_by_side);
  ToleranceResult result = tolerance(*file.circuit, file.verification,
                                     {static_cast<std::size_t>(options.copies),
                                      static_cast<std::uint64_t>(options.seed)},
                                     by.engine, by.nodal, by.side_by_side);
  look_at_runs(options, by, file, result);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(seal_text(session) + failures_text(file));
  const ToleranceReport report{file, result};
  const std::string text =
      options.json ? tolerance_json(report) + "\n"
      : options.csv
          ? tolerance_csv(report)
          : tolerance_text(report, wants_colour(), options.spreads) + safety_text();
  int status = exit_status(verdict_of(file));
  const bool is_under =
      wanted && (result.yield.share < *wanted ||
                 (!result.runs.runs.empty() && result.runs.yield.share < *wanted));
  if (is_under) status = std::max(status, kExitFault);
  return write_last(text, status);
}

}  // namespace

Command tolerance_command() {
  const auto given = std::make_shared<ToleranceOptions>();
  Options options;
  add_description(options, given->file);
  options.number("--copies", "N", "how many copies are made", given->copies, 1,
                 kMostCopies);
  options.flag("--runs", "look at the runs, too, which takes longer", given->runs);
  options.number("--run-copies", "N", "how many of the copies are put into the runs",
                 given->run_copies, 1, static_cast<int>(kMostInRuns));
  options.number("--seed", "N", "which series of copies", given->seed, 0,
                 2'147'483'647);
  options.number("--copy", "K", "show copy K of the series, as verify does",
                 given->copy, 0, kMostCopies);
  options.repeated("--state", "NAME", "only this state; may be repeated", given->states)
      .names(Meaning::state);
  options.text("--fail-under", "SHARE",
               "status 1 where fewer copies work: --fail-under 99%", given->fail_under);
  options.flag("--spreads", "each number that differs, how far, and says who",
               given->spreads);
  add_data_formats(options, given->csv, given->json);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"tolerance", "will every copy work, and will they look alike",
          std::move(options), [given] { return run_tolerance(*given); }};
}

}  // namespace benchproof
