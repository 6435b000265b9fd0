#include "cli/commands/files/reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "cli/commands/files/input.h"
#include "core/base/complaints.h"
#include "core/base/diagnostic_ids.h"
#include "core/catalogue/read/read_types.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/verify/explanations.h"

namespace benchproof {
namespace {

constexpr std::string_view kFileUnreadable = "file-unreadable";
constexpr std::string_view kCatalogueUnreadable = "catalogue-unreadable";

/// Reads the user's own types, which the description names, into the report. Returns
/// whether the names of all types could be read; if not, a description is not blamed
/// for using unknown ones.
bool read_own_types(FileReport& report, const std::string& path,
                    const OwnCatalogue& own, const Catalogue& built_in) {
  const auto fail = [&](std::string message, std::string hint) {
    report.complaints.push_back({std::string(kCatalogueUnreadable), own.span,
                                 std::move(message), std::move(hint)});
    return false;
  };
  if (path == "-")
    return fail(fmt::format("'{}' stands beside no file: the description comes from "
                            "standard input",
                            own.path),
                "give the description's file name in place of '-'");
  const CatalogueLimits limits;
  Input input = read_beside(path, own.path, limits.bytes);
  if (!input.failure.empty())
    return fail(fmt::format("'{}' {}", printable(input.name), input.failure),
                "it is looked for in the description's folder");
  report.own_catalogue = {std::move(input.name), std::move(input.bytes), {}};
  ReadTypes read =
      read_types(report.own_catalogue.source, own.path, built_in, Author::user, limits);
  report.own_catalogue.complaints = std::move(read.diagnostics);
  report.catalogue =
      std::make_shared<const Catalogue>(with_types(built_in, std::move(read.types)));
  return read.has_all_names;
}

/// Reads the text of a description, for which the catalogues are there.
ReadResult read_source(const FileReport& report, const Catalogue& built_in,
                       const Wishes& asked) {
  const std::string base = report.file.substr(report.file.find_last_of('/') + 1);
  Wishes wishes = asked;
  wishes.files = report.block_files;
  Limits limits;
  limits.findings = explained_ids();
  return read_circuit(report.source, base,
                      report.catalogue ? *report.catalogue : built_in, wishes, limits);
}

/// Adds "target=value", which stands at `at` among the changes. False for any other
/// form.
bool add_change(Wishes& asked, const std::string& text, Position at) {
  const std::size_t sign = text.find('=');
  if (sign == std::string::npos || sign == 0 || sign + 1 == text.size()) return false;
  const auto trimmed = [](std::string word) {
    word.erase(0, std::min(word.find_first_not_of(' '), word.size()));
    return word.erase(word.find_last_not_of(' ') + 1);
  };
  asked.changes.push_back(
      {trimmed(text.substr(0, sign)), trimmed(text.substr(sign + 1)), at});
  return true;
}

std::string malformed(const std::string& change) {
  return fmt::format("'{}' is not TARGET=VALUE", change);
}

/// Complaints about named states that cannot be judged (of all, if none are named).
std::vector<Diagnostic> check_states(const Circuit& circuit,
                                     const std::vector<std::string>& wanted) {
  std::vector<Diagnostic> complaints;
  std::vector<std::string> steady;
  for (const State& state : circuit.states)
    if (state.steady) steady.push_back(state.name);
  if (steady.empty() && circuit.runs.empty()) {
    complaints.push_back({std::string(kStatePassing.name),
                          {},
                          "no state is judged at rest",
                          "take 'steady = false' from one at least"});
    return complaints;
  }
  for (const std::string& name : wanted) {
    const auto found =
        std::find_if(circuit.states.begin(), circuit.states.end(),
                     [&name](const State& state) { return state.name == name; });
    if (found != circuit.states.end() && found->steady) continue;
    if (found != circuit.states.end()) {
      complaints.push_back({std::string(kStatePassing.name),
                            {},
                            fmt::format("state '{}' is not judged at rest", name),
                            "it has 'steady = false'"});
      continue;
    }
    complaints.push_back(
        {std::string(kStateUnknown.name),
         {},
         fmt::format("there is no state '{}'", name),
         names_hint(nearest(name, steady), steady, "states", steady.size())});
  }
  return complaints;
}

/// Complains of each named run that is not there.
void check_runs(const Circuit& circuit, const std::vector<std::string>& wanted,
                std::vector<Diagnostic>& complaints) {
  std::vector<std::string> known;
  for (const Run& run : circuit.runs) known.push_back(run.name);
  for (const std::string& name : wanted) {
    if (std::find(known.begin(), known.end(), name) != known.end()) continue;
    complaints.push_back({std::string(kRunUnknown.name),
                          {},
                          fmt::format("there is no run '{}'", name),
                          known.empty() ? "the description has no runs"
                                        : names_hint(nearest(name, known), known,
                                                     "runs", known.size())});
  }
}

}  // namespace

std::vector<BlockFile> read_block_files(const std::string& path,
                                        std::string_view description) {
  return block_files(description, [&path](const std::string& name) {
    if (path == "-")
      return BlockFile{name, "",
                       "stands beside no file: the description comes from standard "
                       "input"};
    Input input = read_beside(path, name, Limits().bytes);
    return BlockFile{name, std::move(input.bytes), std::move(input.failure)};
  });
}

FileReport read_description(const std::string& path, const Catalogue& catalogue,
                            const Wishes& asked, const std::vector<std::string>& states,
                            const std::vector<std::string>& runs) {
  const Limits limits;
  Input input = read_input(path, limits.bytes);
  FileReport report;
  report.changes = asked.text;
  report.file = std::move(input.name);
  report.source = std::move(input.bytes);
  if (!input.failure.empty()) {
    report.complaints = {{std::string(kFileUnreadable), {}, input.failure, ""}};
    return report;
  }
  report.block_files = read_block_files(path, report.source);
  const auto own = own_catalogue(report.source, limits);
  const bool has_all_types = !own || read_own_types(report, path, *own, catalogue);
  ReadResult result = read_source(report, catalogue, asked);
  if (!has_all_types)
    std::erase_if(result.diagnostics,
                  [](const Diagnostic& d) { return d.id == kTypeUnknown.name; });
  std::vector<Diagnostic>& complaints = report.complaints;
  complaints.insert(complaints.end(), result.diagnostics.begin(),
                    result.diagnostics.end());
  if (own) sort_by_position(complaints);
  if (!result.circuit) return report;
  for (Diagnostic& complaint : check_states(*result.circuit, states))
    complaints.push_back(std::move(complaint));
  check_runs(*result.circuit, runs, complaints);
  if (complaints.empty() && report.own_catalogue.complaints.empty())
    report.circuit = std::move(result.circuit);
  return report;
}

FileReport read_version(const FileReport& report, const Catalogue& built_in,
                        const Wishes& asked) {
  FileReport version;
  version.file = report.file;
  version.source = report.source;
  version.changes = asked.text;
  version.own_catalogue = report.own_catalogue;
  version.catalogue = report.catalogue;
  version.block_files = report.block_files;
  ReadResult result = read_source(version, built_in, asked);
  version.complaints = std::move(result.diagnostics);
  version.circuit = std::move(result.circuit);
  return version;
}

std::variant<Wishes, std::string> parse_asked(const std::string& variant,
                                              const std::vector<std::string>& changes) {
  Wishes asked;
  asked.variant = variant;
  for (std::size_t k = 0; k < changes.size(); ++k) {
    if (!add_change(asked, changes[k], {static_cast<int>(k) + 1, 1}))
      return malformed(changes[k]);
    asked.text += changes[k] + "\n";
  }
  return asked;
}

std::variant<Wishes, std::string> parse_list(const std::string& list) {
  Wishes asked;
  asked.text = list + "\n";
  for (std::size_t from = 0; from <= list.size();) {
    // A comma before something that is no change belongs to the value.
    std::size_t to = list.find(',', from);
    const auto next_is_change = [&list](std::size_t comma) {
      return list.find('=', comma) < list.find(',', comma + 1);
    };
    while (to != std::string::npos && !next_is_change(to)) to = list.find(',', to + 1);
    to = std::min(to, list.size());
    const std::string text = list.substr(from, to - from);
    if (!add_change(asked, text, {1, static_cast<int>(from) + 1}))
      return malformed(text);
    from = to + 1;
  }
  return asked;
}

}  // namespace benchproof
