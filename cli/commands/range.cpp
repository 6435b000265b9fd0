#include <memory>
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
#include "cli/render/range/range_report.h"
#include "cli/render/verify/text.h"
#include "core/range/supply_range.h"

namespace benchproof {
namespace {

struct RangeOptions {
  std::string file;
  std::string over;                 ///< "jack.voltage"; empty: the only supply's.
  std::vector<std::string> states;  ///< States to solve; empty: all.
  RangeRules rules;
  bool json = false;
  VersionChoice version;
  bool allow_unsealed = false;
};

/// Reads the description and chooses the supply. Puts complaints into the report.
std::pair<FileReport, int> read_with_supply(const RangeOptions& options,
                                            const Wishes& asked,
                                            const Catalogue& catalogue) {
  FileReport report = read_description(options.file, catalogue, asked, options.states);
  if (!report.circuit) return {std::move(report), -1};
  const auto chosen = choose_supply(*report.circuit, options.over);
  if (const int* part = std::get_if<int>(&chosen)) return {std::move(report), *part};
  report.complaints = {std::get<Diagnostic>(chosen)};
  report.circuit.reset();
  return {std::move(report), -1};
}

/// Writes over which supply voltages the circuit passes. Returns the exit status.
int run_range(const RangeOptions& options) {
  const Wishes asked = asked_version(options.version);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  const auto [file, part] = read_with_supply(options, asked, catalogue);
  if (!file.circuit) return refuse(file, options.json);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  const RangeReport report{
      file, part, options.rules,
      find_supply_range(*file.circuit, part, options.rules, by, options.states)};
  session.finish();  // It ends while we write.
  progress.end();
  write_error(seal_text(session));
  const std::string text = options.json
                               ? range_json(report) + "\n"
                               : range_text(report, wants_colour()) + safety_text();
  return write_last(text, exit_status(verdict_of(report)));
}

}  // namespace

Command range_command() {
  const auto given = std::make_shared<RangeOptions>();
  Options options;
  add_description(options, given->file);
  options
      .text("--over", "PART.voltage", "the voltage to move, where there are several",
            given->over)
      .names(Meaning::supply);
  options.repeated("--state", "NAME", "only this state; may be repeated", given->states)
      .names(Meaning::state);
  options.flag("--with-expectations", "expectations that do not hold end the range too",
               given->rules.expectations);
  options.flag("--cautious", "cautions end the range too", given->rules.cautions);
  options.flag("--json", "as JSON", given->json);
  add_version_choice(options, given->version);
  add_unsealed(options, given->allow_unsealed);
  return {"range", "over which supply voltages all checks pass", std::move(options),
          [given] { return run_range(*given); }};
}

}  // namespace benchproof
