#include "cli/commands/range.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/witnesses.h"
#include "cli/render/range_report.h"
#include "cli/render/text.h"

namespace benchproof {
namespace {

/// Reads the description and chooses the supply; what is wrong stands in `complaints`.
std::pair<FileReport, int> read_with_supply(const RangeOptions& options,
                                            const Catalogue& catalogue) {
  FileReport report =
      read_description(options.file, catalogue, options.asked, options.states);
  if (!report.circuit) return {std::move(report), -1};
  const auto chosen = choose_supply(*report.circuit, options.over);
  if (const int* part = std::get_if<int>(&chosen)) return {std::move(report), *part};
  report.complaints = {std::get<Diagnostic>(chosen)};
  report.circuit.reset();
  return {std::move(report), -1};
}

}  // namespace

int run_range(const RangeOptions& options) {
  EngineOptions engine_options;
  engine_options.allow_unsealed = options.allow_unsealed;
  EngineSession session(engine_options);
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  const auto [file, part] = read_with_supply(options, catalogue);
  if (!file.circuit) return refuse(file, options.json);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  const RangeReport report{
      file, part, options.rules,
      find_supply_range(*file.circuit, part, options.rules, by.nodal_near, by.engine,
                        by.nodal, options.states)};
  session.finish();  // It ends while we write.
  progress.end();
  write_error(seal_text(session));
  const std::string text = options.json
                               ? range_json(report) + "\n"
                               : range_text(report, wants_colour()) + safety_text();
  const int status = exit_status(verdict_of(report));
  return write_result(text) ? status : std::max(status, kExitRefused);
}

}  // namespace benchproof
