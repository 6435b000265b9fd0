#include <fmt/format.h>

#include <algorithm>

#include "core/circuit/entries/names.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/expectations/detail/expectation_subject.h"

namespace benchproof {
namespace {

/// Complains about keys that ask for figures, beside a finding.
void refuse_figures(Reading& reading, const TomlNode& table) {
  for (const std::string_view key :
       {"to", "pin", "voltage", "current", "power", "temperature", "reaches", "stays",
        "at", "figure", "after", "phase", "source", "mark"})
    if (const TomlEntry* entry = find_entry(table, key))
      complain(reading, kKeyConflict, entry->key_span,
               fmt::format("'{}' means nothing beside 'finding'", key),
               "write an [[expect]] for each");
}

/// The text behind a key, if it is one of the names; empty after a complaint, and where
/// the key is not there.
std::string read_name_of(Reading& reading, const TomlNode& table, std::string_view key,
                         const std::vector<std::string>& names, const DiagnosticId& id,
                         std::string_view what) {
  const TomlEntry* entry = text_entry(reading, table, key);
  if (entry == nullptr) return {};
  const std::string& name = entry->value.text;
  if (std::find(names.begin(), names.end(), name) != names.end()) return name;
  complain(reading, id, entry->value.span,
           fmt::format("there is no {} {}", what, quoted(name)),
           suggestion(reading, name, names, fmt::format("{}s", what)));
  return {};
}

/// The ids that may be expected; empty where any may.
std::vector<std::string> finding_names(const Reading& reading) {
  std::vector<std::string> names;
  for (const std::string_view id : reading.limits.findings) names.emplace_back(id);
  return names;
}

/// Where a finding is expected: in a state, in a run, or anywhere.
void read_place(Reading& reading, const TomlNode& table, ExpectedFinding& expected) {
  const TomlEntry* state = find_entry(table, "state");
  if (find_entry(table, "run") != nullptr && state != nullptr)
    complain(reading, kKeyConflict, state->key_span,
             "an expectation has both 'run' and 'state'", "give one of them");
  if (text_entry(reading, table, "state") != nullptr) {
    const int index = read_state_index(reading, state->value);
    if (index >= 0)
      expected.state = reading.circuit.states[static_cast<std::size_t>(index)].name;
  }
  std::vector<std::string> names;
  for (const Run& run : reading.circuit.runs) names.push_back(run.name);
  const std::string run = reading.has_all_runs ? read_name_of(reading, table, "run",
                                                              names, kRunUnknown, "run")
                                               : std::string();
  if (!run.empty()) expected.run = reading.run_index.at(run);
}

}  // namespace

void read_expected_finding(Reading& reading, const TomlNode& table) {
  refuse_figures(reading, table);
  ExpectedFinding expected;
  expected.span = table.span;
  const TomlEntry* finding = text_entry(reading, table, "finding");
  if (finding == nullptr) return;
  expected.check = finding->value.text;
  const std::vector<std::string> known = finding_names(reading);
  if (!known.empty())
    expected.check =
        read_name_of(reading, table, "finding", known, kFindingUnknown, "finding");
  const std::vector<std::string> grades = {"fault", "caution", "note"};
  if (const TomlEntry* grade = text_entry(reading, table, "grade")) {
    expected.grade = grade->value.text;
    if (std::find(grades.begin(), grades.end(), expected.grade) == grades.end())
      complain(reading, kWordUnknown, grade->value.span,
               fmt::format("'grade' cannot be {}", quoted(expected.grade)),
               suggestion(reading, expected.grade, grades, "grades"));
  }
  expected.part =
      read_name_of(reading, table, "part", reading.part_names, kPartUnknown, "part");
  std::vector<std::string> nets;
  for (const Net& net : reading.circuit.nets) nets.push_back(net.name);
  expected.net = read_name_of(reading, table, "net", nets, kNetUnknown, "net");
  read_place(reading, table, expected);
  if (const TomlEntry* why = text_entry(reading, table, "why");
      why != nullptr && check_text(reading, why->value.text, why->value.span, "'why'"))
    expected.why = why->value.text;
  reading.circuit.expected_findings.push_back(std::move(expected));
}

}  // namespace benchproof
