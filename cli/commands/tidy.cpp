#include "core/circuit/write/tidy.h"

#include <fmt/format.h>

#include <memory>
#include <string>
#include <utility>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/reading.h"
#include "cli/commands/files/write_value.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/verify/text.h"
#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

struct TidyOptions {
  std::string file;
  bool write = false;
};

void tell(const FileReport& report, const std::string& what) {
  write_error(wrapped(
      fmt::format("benchproof: {}: {}", printable(report.file), printable(what)), 0,
      2));
}

/// Whether the text is read as the same circuit. It is not written otherwise.
bool is_proved(const FileReport& report, const Catalogue& built_in,
               const std::string& text) {
  FileReport changed = report;
  changed.source = text;
  const FileReport again = read_version(changed, built_in, {});
  return again.circuit && same_wiring(*report.circuit, *again.circuit);
}

/// Writes a description with its wiring as paths, or puts it in the file's place.
/// Returns the exit status.
int run_tidy(const TidyOptions& options) {
  if (options.write && options.file == "-")
    throw UsageError("--write", "it needs a file");
  const Catalogue catalogue = built_in_catalogue();
  const FileReport report = read_description(options.file, catalogue, {}, {});
  write_error(complaints_text(report, wraps_errors()));
  if (!report.circuit) return kExitRefused;
  Tidied tidied = tidy(report.source, *report.circuit);
  if (tidied.is_changed && !is_proved(report, catalogue, tidied.text))
    tidied = {report.source, false, "the same nets could not be proved"};
  if (!tidied.is_changed) tell(report, "stays as it is: " + tidied.reason);
  if (!options.write) return write_last(tidied.text, kExitGood);
  if (!tidied.is_changed) return kExitGood;
  const std::string failure = rewrite_file(options.file, report.source, tidied.text);
  if (failure.empty()) return kExitGood;
  tell(report, "not written: " + failure);
  return kExitRefused;
}

}  // namespace

Command tidy_command() {
  const auto given = std::make_shared<TidyOptions>();
  Options options;
  add_description(options, given->file);
  options.flag("--write", "put it in the file's place", given->write);
  return {"tidy", "write the wiring as paths, where that is shorter",
          std::move(options), [given] { return run_tidy(*given); }};
}

}  // namespace benchproof
