#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <set>
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
#include "cli/render/compare/compare_report.h"
#include "cli/render/layout.h"
#include "cli/render/verify/text.h"
#include "core/base/diagnostic_ids.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

/// Heads of columns that are wider make room for letters.
constexpr std::size_t kWidestHead = 9;

struct CompareOptions {
  std::vector<std::string> files;     ///< One, or several with the same nets.
  std::vector<std::string> variants;  ///< Of one file: a column each ...
  std::vector<std::string> lists;     ///< ... and each list of changes one.
  std::vector<std::string> states;    ///< Empty: all.
  bool all = false;                   ///< Rows that do not change are shown too.
  bool json = false;
  bool allow_unsealed = false;
};

/// A column before it is judged.
struct ComparedColumn {
  FileReport version;
  std::string name;
  std::string head;
  std::vector<std::string> changes = {};  ///< "quay_r.value=470R" each.
};

std::string file_stem(const std::string& path) {
  const std::string base = path.substr(path.find_last_of('/') + 1);
  return base.substr(0, base.find_last_of('.'));
}

/// The value of a list that gives one and the same value to all targets of another
/// list, and to no others; else nothing.
std::optional<std::string> value_of(const Wishes& asked, const Wishes& other) {
  const bool is_alike = std::equal(
      asked.changes.begin(), asked.changes.end(), other.changes.begin(),
      other.changes.end(), [&asked](const Change& mine, const Change& theirs) {
        return mine.target == theirs.target && mine.value == asked.changes[0].value;
      });
  if (!is_alike || asked.changes.empty()) return std::nullopt;
  return asked.changes[0].value;
}

/// Short heads for the columns of lists: the values alone where all change the same.
std::vector<std::string> list_heads(const std::vector<Wishes>& lists) {
  std::vector<std::string> heads;
  for (const Wishes& list : lists) {
    const auto value = value_of(list, lists.front());
    if (!value) {
      heads.clear();
      break;
    }
    heads.push_back(*value);
  }
  if (heads.empty())
    for (const Wishes& list : lists)
      heads.push_back(list.text.substr(0, list.text.find('\n')));
  return heads;
}

/// The changes of a list, one by one.
std::vector<std::string> changes_of(const Wishes& asked) {
  std::vector<std::string> changes;
  for (const Change& change : asked.changes)
    changes.push_back(change.target + "=" + change.value);
  return changes;
}

/// Letters in place of heads that are too wide or stand for several columns.
void shorten_heads(std::vector<ComparedColumn>& columns) {
  std::set<std::string> heads;
  bool is_good = true;
  for (const ComparedColumn& column : columns)
    is_good = is_good && columns_of(column.head) <= kWidestHead &&
              heads.insert(column.head).second;
  if (is_good) return;
  for (std::size_t k = 0; k < columns.size(); ++k)
    columns[k].head =
        k < 26 ? std::string(1, static_cast<char>('A' + k)) : fmt::format("#{}", k + 1);
}

/// "variant dim: quay_r.value=680R"; of many changes the first ones.
std::string variant_text(const Circuit& circuit, const std::string& name) {
  constexpr std::size_t kMost = 6;
  const auto found =
      std::find_if(circuit.variants.begin(), circuit.variants.end(),
                   [&name](const Variant& variant) { return variant.name == name; });
  std::string text = "variant " + name;
  if (found == circuit.variants.end()) return text;
  std::vector<std::string> changes = found->changes;
  const std::size_t more = changes.size() - std::min(changes.size(), kMost);
  changes.resize(changes.size() - more);
  if (more > 0) changes.push_back(fmt::format("{} more", more));
  return changes.empty() ? text : fmt::format("{}: {}", text, fmt::join(changes, ", "));
}

/// The columns of one description that was read.
std::vector<ComparedColumn> columns_in(FileReport base, const Catalogue& catalogue,
                                       const std::vector<std::string>& variants,
                                       const std::vector<Wishes>& lists) {
  std::vector<ComparedColumn> columns;
  for (const std::string& name : variants) {
    Wishes asked;
    asked.variant = name;
    columns.push_back({read_version(base, catalogue, asked),
                       variant_text(*base.circuit, name), name});
  }
  const std::vector<std::string> heads = list_heads(lists);
  for (std::size_t k = 0; k < lists.size(); ++k)
    columns.push_back({read_version(base, catalogue, lists[k]),
                       lists[k].text.substr(0, lists[k].text.find('\n')), heads[k],
                       changes_of(lists[k])});
  const bool speaks_for_itself = variants.empty() && lists.size() > 1;
  if (!speaks_for_itself)
    columns.insert(columns.begin(), {std::move(base), "as described", "base"});
  return columns;
}

/// A complaint where a file has other nets than the first one.
std::optional<Diagnostic> other_nets(const FileReport& first, const FileReport& other) {
  const auto names_of = [](const FileReport& report) {
    std::set<std::string> names;
    for (const Net& net : report.circuit->nets) names.insert(net.name);
    return names;
  };
  const std::set<std::string> wanted = names_of(first);
  const std::set<std::string> found = names_of(other);
  std::vector<std::string> apart;
  std::set_symmetric_difference(wanted.begin(), wanted.end(), found.begin(),
                                found.end(), std::back_inserter(apart));
  if (apart.empty()) return std::nullopt;
  constexpr std::size_t kMost = 5;
  const bool is_long = apart.size() > kMost;
  const std::size_t more = is_long ? apart.size() - kMost : 0;
  apart.resize(std::min(apart.size(), kMost));
  return Diagnostic{
      std::string(kNetUnknown.name),
      {},
      fmt::format("its nets are not those of {}: only one of them has '{}'{}",
                  first.file, fmt::join(apart, "', '"),
                  is_long ? fmt::format(" and {} more", more) : ""),
      "compare files of one circuit, or variants of one file"};
}

/// One column for each file. A file that cannot be compared gets a complaint.
std::vector<ComparedColumn> columns_of_files(const CompareOptions& options,
                                             const Catalogue& catalogue) {
  std::vector<ComparedColumn> columns;
  for (const std::string& path : options.files) {
    FileReport report = read_description(path, catalogue, {}, options.states);
    if (report.circuit && !columns.empty() && columns.front().version.circuit) {
      if (auto complaint = other_nets(columns.front().version, report)) {
        report.complaints.push_back(std::move(*complaint));
        report.circuit.reset();
      }
    }
    std::string name = report.file;
    std::string head = file_stem(report.file);
    columns.push_back({std::move(report), std::move(name), std::move(head)});
  }
  return columns;
}

/// The columns of one file, or a single one without a circuit, which says why there are
/// none.
std::vector<ComparedColumn> columns_of_file(const CompareOptions& options,
                                            const std::vector<Wishes>& lists,
                                            const Catalogue& catalogue) {
  FileReport base =
      read_description(options.files.front(), catalogue, {}, options.states);
  const auto refused = [&base](Diagnostic complaint) {
    base.complaints.push_back(std::move(complaint));
    base.circuit.reset();
    return std::vector<ComparedColumn>{{std::move(base), "", ""}};
  };
  if (!base.circuit) return {{std::move(base), "", ""}};
  const bool is_choice = !options.variants.empty() || !lists.empty();
  std::vector<std::string> variants = options.variants;
  if (!is_choice)
    for (const Variant& variant : base.circuit->variants)
      variants.push_back(variant.name);
  if (variants.empty() && lists.empty())
    return refused({std::string(kVariantUnknown.name),
                    {},
                    "there is nothing to compare it with: it has no variants",
                    "--set quay_r.value=330R --set quay_r.value=470R compares values"});
  return columns_in(std::move(base), catalogue, variants, lists);
}

/// A complaint where all columns together would be told more than may be held.
std::optional<Diagnostic> too_many(const std::vector<ComparedColumn>& columns) {
  const std::size_t most = Limits().all_figures;
  std::size_t figures = 0;
  for (const ComparedColumn& column : columns)
    figures += figure_count(*column.version.circuit);
  if (figures <= most) return std::nullopt;
  return Diagnostic{
      std::string(kTooLarge.name),
      {},
      fmt::format("the phases of all states times the parts, of {} versions, make {}; "
                  "{} are allowed",
                  columns.size(), figures, most),
      "compare fewer at once"};
}

/// One column for each list of changes; complains of one that is none.
std::vector<Wishes> parse_lists(const std::vector<std::string>& texts) {
  std::vector<Wishes> lists;
  for (const std::string& text : texts) {
    auto list = parse_list(text);
    if (const auto* problem = std::get_if<std::string>(&list))
      throw UsageError("--set", *problem);
    lists.push_back(std::get<Wishes>(std::move(list)));
  }
  return lists;
}

/// Only versions of one file are asked for by name or value.
void check_compared(const CompareOptions& options) {
  const bool is_choice = !options.variants.empty() || !options.lists.empty();
  if (options.files.size() > 1 && is_choice)
    throw UsageError("FILE", "several files are compared as they stand");
}

/// The columns, read but not judged; one without a circuit says why not.
std::vector<ComparedColumn> read_columns(const CompareOptions& options,
                                         const std::vector<Wishes>& lists,
                                         const Catalogue& catalogue) {
  std::vector<ComparedColumn> columns =
      options.files.size() > 1 ? columns_of_files(options, catalogue)
                               : columns_of_file(options, lists, catalogue);
  const bool is_readable = std::all_of(
      columns.begin(), columns.end(),
      [](const ComparedColumn& c) { return c.version.circuit.has_value(); });
  if (!is_readable) return columns;
  if (const auto complaint = too_many(columns)) {
    FileReport& first = columns.front().version;
    first.complaints = {*complaint};
    first.circuit.reset();
  }
  return columns;
}

/// Judges the columns in the states named (all, if none are) and compares them.
CompareReport compare_columns(std::vector<ComparedColumn> columns,
                              const std::vector<std::string>& states,
                              EngineSession& session) {
  CompareReport report;
  report.versions.reserve(columns.size());  // The verifications point into them.
  for (ComparedColumn& column : columns) {
    NodalWitness solvers;
    const Witnesses by = make_witnesses(session, solvers);
    FileReport& version = column.version;
    version.verification = verify(*version.circuit, by.engine, by.nodal, states);
    report.versions.push_back(std::move(version));
  }
  for (std::size_t k = 0; k < columns.size(); ++k) {
    report.candidates.push_back({columns[k].name, columns[k].head,
                                 &*report.versions[k].circuit,
                                 &report.versions[k].verification});
    report.changes.push_back(std::move(columns[k].changes));
  }
  report.comparison = compare(report.candidates);
  return report;
}

/// Compares versions of a circuit: the description as it stands with every variant
/// named (all, if neither variants nor lists are) and every list of changes, or several
/// files. From two lists on, and without variants, the description as it stands is no
/// column. Returns the exit status: the worst of the columns'.
int run_compare(const CompareOptions& options) {
  const std::vector<Wishes> lists = parse_lists(options.lists);
  check_files(options.files);
  check_compared(options);
  EngineSession session(engine_options(options.allow_unsealed));
  session.start();  // It gets ready while we read.
  const Catalogue catalogue = built_in_catalogue();
  std::vector<ComparedColumn> columns = read_columns(options, lists, catalogue);
  for (const ComparedColumn& column : columns)
    if (!column.version.circuit) return refuse(column.version, options.json);
  shorten_heads(columns);

  StillSolving progress;
  const CompareReport report =
      compare_columns(std::move(columns), options.states, session);
  session.finish();  // It ends while we write.
  progress.end();

  for (const FileReport& version : report.versions) write_error(failures_text(version));
  write_error(seal_text(session));
  const std::string text =
      options.json
          ? compare_json(report) + "\n"
          : compare_text(report, {wants_colour(), options.all}) + safety_text();
  return write_last(text, exit_status(report.comparison.verdict));
}

}  // namespace

Command compare_command() {
  const auto given = std::make_shared<CompareOptions>();
  Options options;
  options
      .argument("FILE", "one description, or several with the same nets", given->files)
      .names(Meaning::description)
      .is_required = true;
  options
      .repeated("--variant", "NAME",
                "beside the description; may be repeated; else all", given->variants)
      .names(Meaning::variant);
  options
      .repeated("--set", "TARGET=VALUE,...",
                "with these changes, comma between; may be repeated", given->lists)
      .names(Meaning::changes);
  options.repeated("--state", "NAME", "only this state; may be repeated", given->states)
      .names(Meaning::state);
  options.flag("--all", "what hardly changes as well", given->all);
  options.flag("--json", "as JSON", given->json);
  add_unsealed(options, given->allow_unsealed);
  return {"compare", "what changes from one version to another", std::move(options),
          [given] { return run_compare(*given); }};
}

}  // namespace benchproof
