#include "core/regress/recorded.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "core/base/complaints.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/toml_tree.h"

namespace benchproof {
namespace {

constexpr int kLayout = 1;
constexpr int kNesting = 4;
constexpr std::size_t kMostComplaints = 10;

struct ToleranceKey {
  std::string_view key;
  double Tolerance::*member;
  std::string_view about;
};

constexpr std::array kToleranceKeys = {
    ToleranceKey{"volts", &Tolerance::volts, "V, of a state"},
    ToleranceKey{"amps", &Tolerance::amps, "A, of a state"},
    ToleranceKey{"relative", &Tolerance::relative, "of the figure, added"},
    ToleranceKey{"run-volts", &Tolerance::run_volts, "V, of a run"},
    ToleranceKey{"run-relative", &Tolerance::run_relative, "of the figure, added"},
    ToleranceKey{"run-amps", &Tolerance::run_amps, "A, of a run"},
    ToleranceKey{"run-amps-relative", &Tolerance::run_amps_relative,
                 "of the figure, added"},
    ToleranceKey{"kelvin", &Tolerance::kelvin, "of a temperature"},
    ToleranceKey{"hours-relative", &Tolerance::hours_relative, "of a life"}};

/// Text in the quotes of TOML; names and ids have nothing that must be escaped.
std::string in_quotes(std::string_view text) { return fmt::format("\"{}\"", text); }

/// A key, in quotes where it holds more than a bare one may.
std::string key_text(std::string_view name) {
  const bool is_word = std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           c == '_' || c == '-';
  });
  return is_word && !name.empty() ? std::string(name) : in_quotes(name);
}

/// Seven digits: more than any tolerance asks, and the same wherever it is computed.
std::string number_text(double value) {
  // What is below the rounding noise of the solvers would change with the machine.
  constexpr double kNothing = 1e-13;
  if (std::abs(value) < kNothing) return "0.0";
  std::string text = fmt::format("{:.7g}", value);
  if (text.find_first_of(".e") == std::string::npos) text += ".0";
  return text;
}

std::string list_text(std::string_view key, const std::vector<std::string>& texts) {
  if (texts.empty()) return fmt::format("{} = []\n", key);
  std::string text = fmt::format("{} = [\n", key);
  for (const std::string& each : texts) text += fmt::format("  {},\n", in_quotes(each));
  return text + "]\n";
}

std::string case_record_text(const CaseRecord& record) {
  std::string text = "\n[[case]]\n";
  if (!record.name.variant.empty())
    text += fmt::format("variant = {}\n", in_quotes(record.name.variant));
  text += fmt::format("{} = {}\n", record.name.is_run ? "run" : "state",
                      in_quotes(record.name.name));
  text += list_text("findings", record.findings);
  text += list_text("expectations", record.expectations);
  for (const FigureSort sort : kFigureSorts) {
    bool is_begun = false;
    for (const KeptFigure& figure : record.figures) {
      if (figure.sort != sort) continue;
      if (!is_begun) text += fmt::format("\n[case.{}]\n", table_name(sort));
      is_begun = true;
      text += fmt::format("{} = {}\n", key_text(figure.of), number_text(figure.value));
    }
  }
  return text;
}

/// Collects what is read and what is wrong with it.
class Reader {
 public:
  explicit Reader(const TomlNode& root) : root_(root) {}

  std::variant<Recorded, std::vector<Diagnostic>> read() {
    known_keys(root_, {"benchproof", "tolerance", "case"});
    const TomlEntry* layout = find_entry(root_, "benchproof");
    if (layout == nullptr) {
      complain(kKeyMissing, {}, fmt::format("'benchproof = {}' is missing", kLayout));
    } else if (layout->value.type != TomlNode::Type::number ||
               layout->value.number != kLayout) {
      complain(kValueRange, layout->value.span,
               fmt::format("only layout {} is known", kLayout));
    }
    if (const TomlNode* table = of_type(root_, "tolerance", TomlNode::Type::table))
      read_tolerance(*table);
    if (const TomlNode* cases = of_type(root_, "case", TomlNode::Type::array))
      for (const TomlNode& node : cases->items) read_case(node);
    if (!complaints_.empty())
      return first_complaints(std::move(complaints_), kMostComplaints);
    return std::move(recorded_);
  }

 private:
  void complain(const DiagnosticId& id, const Span& span, std::string message) {
    complaints_.push_back({std::string(id.name), span, std::move(message), ""});
  }

  void known_keys(const TomlNode& table, const std::vector<std::string_view>& keys) {
    for (const TomlEntry& entry : table.entries)
      if (std::find(keys.begin(), keys.end(), entry.key) == keys.end())
        complain(kKeyUnknown, entry.key_span,
                 fmt::format("{} is no key of a record", quoted(entry.key)));
  }

  bool is_type(const TomlNode& node, TomlNode::Type type) {
    if (node.type == type) return true;
    complain(kTomlType, node.span, fmt::format("this must be {}", type_name(type)));
    return false;
  }

  /// What stands behind a key, where it is there and of that type.
  const TomlNode* of_type(const TomlNode& table, std::string_view key,
                          TomlNode::Type type) {
    const TomlEntry* entry = find_entry(table, key);
    if (entry == nullptr || !is_type(entry->value, type)) return nullptr;
    return &entry->value;
  }

  std::optional<double> number_of(const TomlNode& node) {
    if (!is_type(node, TomlNode::Type::number)) return std::nullopt;
    if (std::isfinite(node.number)) return node.number;
    complain(kValueRange, node.span, "this must be a finite number");
    return std::nullopt;
  }

  void read_tolerance(const TomlNode& table) {
    std::vector<std::string_view> keys;
    for (const ToleranceKey& row : kToleranceKeys) {
      keys.push_back(row.key);
      const TomlEntry* entry = find_entry(table, row.key);
      if (entry == nullptr) continue;
      const auto value = number_of(entry->value);
      if (!value) continue;
      if (*value < 0.0) {
        complain(kValueRange, entry->value.span, "a tolerance is not negative");
        continue;
      }
      recorded_.tolerance.*row.member = *value;
    }
    known_keys(table, keys);
  }

  void read_texts(const TomlNode& node, std::string_view key,
                  std::vector<std::string>& texts) {
    if (const TomlNode* list = of_type(node, key, TomlNode::Type::array))
      for (const TomlNode& item : list->items)
        if (is_type(item, TomlNode::Type::string)) texts.push_back(item.text);
  }

  void read_case(const TomlNode& node) {
    if (!is_type(node, TomlNode::Type::table)) return;
    std::vector<std::string_view> keys{"variant", "state", "run", "findings",
                                       "expectations"};
    CaseRecord record;
    if (const TomlNode* variant = of_type(node, "variant", TomlNode::Type::string))
      record.name.variant = variant->text;
    const TomlEntry* state = find_entry(node, "state");
    const TomlEntry* run = find_entry(node, "run");
    if ((state == nullptr) == (run == nullptr)) {
      complain(kKeyMissing, node.span, "a case has either 'state' or 'run'");
    } else {
      const TomlNode& name = (run != nullptr ? run : state)->value;
      record.name.is_run = run != nullptr;
      if (is_type(name, TomlNode::Type::string)) record.name.name = name.text;
    }
    read_texts(node, "findings", record.findings);
    read_texts(node, "expectations", record.expectations);
    record.is_full = find_entry(node, "expectations") != nullptr;
    for (const FigureSort sort : kFigureSorts) {
      keys.push_back(table_name(sort));
      const TomlNode* table = of_type(node, table_name(sort), TomlNode::Type::table);
      if (table == nullptr) continue;
      for (const TomlEntry& entry : table->entries)
        if (const auto value = number_of(entry.value))
          record.figures.push_back({sort, entry.key, *value});
    }
    known_keys(node, keys);
    const CaseName& name = record.name;
    if (!names_.emplace(name.variant, name.is_run, name.name).second)
      complain(kKeyConflict, node.span,
               fmt::format("{} is recorded twice", case_text(record.name)));
    recorded_.cases.push_back(std::move(record));
  }

  const TomlNode& root_;
  std::set<std::tuple<std::string, bool, std::string>> names_;
  Recorded recorded_;
  std::vector<Diagnostic> complaints_;
};

}  // namespace

const CaseRecord* find_case(const std::vector<CaseRecord>& cases,
                            const CaseName& name) {
  const auto found =
      std::find_if(cases.begin(), cases.end(),
                   [&name](const CaseRecord& record) { return record.name == name; });
  return found == cases.end() ? nullptr : &*found;
}

std::string recorded_text(const Recorded& recorded, std::string_view description) {
  std::string text = fmt::format(
      "# Results of {}, as the nodal witness has them where both agree.\n"
      "# `benchproof regress --record` writes this file; without it results are held\n"
      "# against it. Only [tolerance] is for changing by hand: a figure may differ by\n"
      "# the absolute part and the relative part together.\n"
      "benchproof = {}\n\n[tolerance]\n",
      printable(description), kLayout);
  for (const ToleranceKey& row : kToleranceKeys)
    text += fmt::format("{} = {}  # {}\n", row.key,
                        number_text(recorded.tolerance.*row.member), row.about);
  for (const CaseRecord& record : recorded.cases) text += case_record_text(record);
  return text;
}

std::variant<Recorded, std::vector<Diagnostic>> read_recorded(std::string_view text) {
  if (text.size() > kMostRecordBytes)
    return std::vector<Diagnostic>{{std::string(kTooLarge.name),
                                    {},
                                    "the record is larger than 16 MiB",
                                    "--record writes it anew"}};
  const auto parsed = parse_toml(text, kNesting);
  if (const auto* problem = std::get_if<Diagnostic>(&parsed))
    return std::vector<Diagnostic>{*problem};
  return Reader(std::get<TomlNode>(parsed)).read();
}

}  // namespace benchproof
