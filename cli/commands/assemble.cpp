#include <memory>
#include <string>
#include <utility>

#include "cli/commands/command.h"
#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/shared_options.h"
#include "cli/commands/witnesses.h"
#include "cli/render/assemble_report.h"
#include "cli/render/text.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct AssembleOptions {
  std::string file;
  VersionChoice version;
  bool sheet = false;
  bool csv = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// Judges every steady state of the description and writes how it is built. Returns the
/// exit status: that of the verdict on these states.
int run_assemble(const AssembleOptions& options) {
  const Wishes asked = asked_version(options.version);
  if (options.sheet && (options.csv || options.json))
    throw UsageError("--sheet", "is for people: without --csv and --json");
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, options.json);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal);
  Assembly assembly = assemble(*file.circuit, file.verification, by.engine, by.nodal);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(failures_text(file) + seal_text(session));
  const AssembleReport report{std::move(file), std::move(assembly)};
  const std::string text =
      options.json ? assemble_json(report) + "\n"
      : options.csv
          ? assemble_csv(report)
          : assemble_text(report, {wants_colour(), options.sheet}) + safety_text();
  return write_last(text, exit_status(report.file.verification.verdict));
}

}  // namespace

Command assemble_command() {
  const auto given = std::make_shared<AssembleOptions>();
  Options options;
  add_description(options, given->file);
  options.flag("--sheet", "with boxes to tick, to print", given->sheet);
  add_version_choice(options, given->version);
  add_data_formats(options, given->csv, given->json);
  add_unsealed(options, given->allow_unsealed);
  return {"assemble", "the order of building, and what to measure",
          std::move(options), [given] { return run_assemble(*given); }};
}

}  // namespace benchproof
