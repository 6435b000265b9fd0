#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/shopping/shopping_report.h"
#include "cli/render/verify/text.h"
#include "core/base/quantity.h"
#include "core/order/least_ratings.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct ShoppingOptions {
  std::string file;
  std::string power_share;  ///< As given; empty: the usual ones.
  std::string voltage_share;
  VersionChoice version;
  bool csv = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// A share above 0 and at most 1, or nothing where none was given.
std::optional<double> parse_share(const std::string& option, const std::string& text) {
  if (text.empty()) return std::nullopt;
  const auto parsed = parse_quantity(text, Unit::fraction);
  const double* share = std::get_if<double>(&parsed);
  if (share == nullptr || !(*share > 0.0 && *share <= 1.0))
    throw UsageError(option, "'" + text + "' is not a share up to 100 %, as in '60%'");
  return *share;
}

/// Judges every steady state of the description and writes what to buy for it. Returns
/// the exit status: that of the verdict on these states.
int run_shopping(const ShoppingOptions& options) {
  const Wishes asked = asked_version(options.version);
  const Derating derating{parse_share("--derate", options.power_share),
                          parse_share("--derate-voltage", options.voltage_share)};
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, asked, {});
  if (!file.circuit) return refuse(file, options.json);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(failures_text(file) + seal_text(session));
  ShoppingList list = shopping_list(*file.circuit, file.verification, derating);
  const ShoppingReport report{std::move(file), std::move(list), derating};

  const Verdict verdict = report.file.verification.verdict;
  std::string text;
  if (options.json) {
    text = shopping_json(report) + "\n";
  } else if (options.csv) {
    text = shopping_csv(report);
    if (!report.list.without_ratings.empty() || verdict > Verdict::caution)
      write_error(shopping_verdict(report));
  } else {
    text = shopping_text(report, wants_colour()) + safety_text();
  }
  return write_last(text, exit_status(verdict));
}

}  // namespace

Command shopping_command() {
  const auto given = std::make_shared<ShoppingOptions>();
  Options options;
  add_description(options, given->file);
  options.text("--derate", "SHARE", "of a resistor's power, to use; else 60%",
               given->power_share);
  options.text("--derate-voltage", "SHARE",
               "of a capacitor's voltage, to use; else 80%", given->voltage_share);
  add_version_choice(options, given->version);
  add_data_formats(options, given->csv, given->json);
  add_unsealed(options, given->allow_unsealed);
  return {"shopping", "what to buy, with the least ratings that do", std::move(options),
          [given] { return run_shopping(*given); }};
}

}  // namespace benchproof
