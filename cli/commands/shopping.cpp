#include "cli/commands/shopping.h"

#include <algorithm>
#include <utility>

#include "cli/commands/output.h"
#include "cli/commands/progress.h"
#include "cli/commands/reading.h"
#include "cli/commands/witnesses.h"
#include "cli/render/shopping_report.h"
#include "cli/render/text.h"
#include "spice/session/engine_session.h"

namespace benchproof {

int run_shopping(const ShoppingOptions& options) {
  EngineOptions engine_options;
  engine_options.allow_unsealed = options.allow_unsealed;
  EngineSession session(engine_options);
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  FileReport file = read_description(options.file, catalogue, options.asked, {});
  if (!file.circuit) return refuse(file, options.json);

  StillSolving progress;
  NodalWitness solvers;
  const Witnesses by = make_witnesses(session, solvers);
  file.verification = verify(*file.circuit, by.engine, by.nodal);
  session.finish();  // It ends while we write.
  progress.end();
  write_error(failures_text(file) + seal_text(session));
  ShoppingList list = shopping_list(*file.circuit, file.verification, options.derating);
  const ShoppingReport report{std::move(file), std::move(list), options.derating};

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
  const int status = exit_status(verdict);
  return write_result(text) ? status : std::max(status, kExitRefused);
}

}  // namespace benchproof
