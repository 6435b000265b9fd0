#include <fmt/format.h>
#include <fmt/ranges.h>

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cli/commands/command_line/command.h"
#include "cli/commands/command_line/shared_options.h"
#include "cli/commands/files/input.h"
#include "cli/commands/output.h"
#include "cli/render/layout.h"
#include "cli/render/parts/parts_data.h"
#include "cli/render/parts/parts_text.h"
#include "cli/render/verify/text.h"
#include "core/base/diagnostic.h"
#include "core/catalogue/other_names.h"
#include "core/catalogue/read/read_types.h"
#include "core/catalogue/search.h"

namespace benchproof {
namespace {

struct PartsOptions {
  std::vector<std::string> words;  ///< A kind, a type, or words; empty: all kinds.
  std::string file;                ///< The user's own types; empty: none.
  bool csv = false;
  bool json = false;
};

/// The catalogue with the types of a file. Puts complaints into `report`.
Catalogue with_file(const Catalogue& built_in, const std::string& path,
                    CatalogueReport& report) {
  const CatalogueLimits limits;
  Input input = read_input(path, limits.bytes);
  report = {std::move(input.name), std::move(input.bytes), {}};
  if (!input.failure.empty()) {
    report.complaints = {{"file-unreadable", {}, input.failure, ""}};
    return built_in;
  }
  const std::string base = report.file.substr(report.file.find_last_of('/') + 1);
  ReadTypes read = read_types(report.source, base, built_in, Author::user, limits);
  report.complaints = std::move(read.diagnostics);
  return with_types(built_in, std::move(read.types));
}

int tell_nothing_found(const std::string& asked, const std::vector<std::string>& near) {
  const std::string hint =
      near.empty() ? "'benchproof parts' lists the kinds"
                   : fmt::format("did you mean '{}'?", fmt::join(near, "' or '"));
  const std::string line = printable(
      fmt::format("benchproof: the catalogue has nothing named '{}'; {}", asked, hint));
  write_error(wraps_errors() ? wrapped(line, 0, 2) : line + "\n");
  return kExitRefused;
}

/// The report on the types found.
std::string found_text(const Found& found) {
  // A single type is what was looked for, also by a part of its name.
  if (!found.is_exact && found.types.size() > 1) return types_text(found);
  std::string text;
  for (const Type* type : found.types)
    text += (text.empty() ? "" : "\n") + type_text(*type);
  return text;
}

/// Shows the catalogue. Returns the exit status: kExitRefused for what it does not
/// have.
int run_parts(const PartsOptions& options) {
  Catalogue catalogue = built_in_catalogue();
  if (!options.file.empty()) {
    CatalogueReport report;
    catalogue = with_file(catalogue, options.file, report);
    if (!report.complaints.empty()) {
      write_error(complaints_text(report, wraps_errors()));
      if (options.json) (void)write_result(refused_json(report) + "\n");
      return kExitRefused;
    }
  }
  std::string text;
  int status = kExitGood;
  if (options.words.empty()) {
    text = options.json  ? kinds_json(catalogue) + "\n"
           : options.csv ? kinds_csv(catalogue)
                         : kinds_text(catalogue);
  } else {
    const std::string asked = fmt::format("{}", fmt::join(options.words, " "));
    const Found found = search(catalogue, asked);
    std::vector<std::string> near;
    const Kind* kind = find_kind_called(asked);
    if (kind != nullptr && found.types.empty() && !options.json && !options.csv)
      return write_result(kind_text(*kind)) ? kExitGood : kExitRefused;
    if (found.types.empty()) {
      near = near_names(catalogue, asked);
      status = tell_nothing_found(asked, near);
    }
    text = options.json  ? types_json(asked, found, near) + "\n"
           : options.csv ? types_csv(found)
                         : found_text(found);
  }
  return write_last(text, status);
}

}  // namespace

Command parts_command() {
  const auto given = std::make_shared<PartsOptions>();
  Options options;
  options.argument("WHAT", "a kind, a type or words; else all kinds", given->words)
      .names(Meaning::known_part);
  options.text("--catalogue", "FILE", "with the types of this file", given->file)
      .names(Meaning::file);
  add_data_formats(options, given->csv, given->json);
  return {"parts", "show the catalogue: kinds, types", std::move(options),
          [given] { return run_parts(*given); }};
}

}  // namespace benchproof
