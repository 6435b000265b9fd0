#include <algorithm>
#include <cstddef>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_file.h"
#include "cli/commands/judging/page_of.h"
#include "cli/commands/judging/progress.h"
#include "cli/commands/judging/witnesses.h"
#include "cli/commands/output.h"
#include "cli/render/page/page_report.h"
#include "cli/render/verify/text.h"
#include "core/base/complaints.h"
#include "core/tolerance/tolerance.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

struct ReportOptions {
  std::string file;
  std::string output;
  bool all_variants = false;  ///< Held against the description.
  int copies = 0;             ///< 0: as many as is usual.
  VersionChoice version;
  bool allow_unsealed = false;
};

/// Judges what the page is about, and what it shows besides.
PageReport made_report(FileReport file, const ReportOptions& options,
                       const Catalogue& catalogue, const Wishes& asked,
                       EngineSession& session) {
  judge_in_full(file, session);
  explain(file, session);
  std::vector<FileReport> variants;
  if (options.all_variants)
    for (const Variant& variant : file.circuit->variants) {
      Wishes in_variant = asked;
      in_variant.variant = variant.name;
      variants.push_back(read_version(file, catalogue, in_variant));
      if (variants.back().circuit) judge_in_full(variants.back(), session);
    }
  const std::size_t copies = options.copies > 0
                                 ? static_cast<std::size_t>(options.copies)
                                 : usual_copies(*file.circuit);
  PageReport report = page_of(std::move(file), catalogue, session, copies);
  report.has_fewer_copies = report.has_fewer_copies && options.copies == 0;
  report.variants = std::move(variants);
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
  options.number(
      "--copies", "N",
      "how many copies are made; else 100,000,\nfewer where there are many parts",
      given->copies, 1, kMostCopies);
  add_unsealed(options, given->allow_unsealed);
  return {"report", "all that is known of a circuit as one HTML page",
          std::move(options), [given] { return run_report(*given); }};
}

}  // namespace benchproof
