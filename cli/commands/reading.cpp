#include "cli/commands/reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "cli/commands/input.h"
#include "core/circuit/diagnostic_ids.h"

namespace benchproof {
namespace {

constexpr std::string_view kFileUnreadable = "file-unreadable";

/// What stands against judging the named states (all, if none are named).
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
    const std::string near = nearest(name, steady);
    complaints.push_back({std::string(kStateUnknown.name),
                          {},
                          fmt::format("there is no state '{}'", name),
                          near.empty()
                              ? fmt::format("states: {}", fmt::join(steady, ", "))
                              : fmt::format("did you mean '{}'? states: {}", near,
                                            fmt::join(steady, ", "))});
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
    const std::string near = nearest(name, known);
    const std::string all = known.empty()
                                ? "the description has no runs"
                                : fmt::format("runs: {}", fmt::join(known, ", "));
    complaints.push_back(
        {std::string(kRunUnknown.name),
         {},
         fmt::format("there is no run '{}'", name),
         near.empty() ? all : fmt::format("did you mean '{}'? {}", near, all)});
  }
}

}  // namespace

FileReport read_description(const std::string& path, const Catalogue& catalogue,
                            const std::vector<Change>& changes,
                            const std::vector<std::string>& states,
                            const std::vector<std::string>& runs) {
  const Limits limits;
  Input input = read_input(path, limits.bytes);
  FileReport report;
  report.file = std::move(input.name);
  report.source = std::move(input.bytes);
  if (!input.failure.empty()) {
    report.complaints = {{std::string(kFileUnreadable), {}, input.failure, ""}};
    return report;
  }
  const std::string base = report.file.substr(report.file.find_last_of('/') + 1);
  ReadResult result = read_circuit(report.source, base, catalogue, changes, limits);
  report.complaints = std::move(result.diagnostics);
  if (!result.circuit) return report;
  report.complaints = check_states(*result.circuit, states);
  check_runs(*result.circuit, runs, report.complaints);
  if (report.complaints.empty()) report.circuit = std::move(result.circuit);
  return report;
}

std::optional<Change> parse_change(const std::string& text) {
  const std::size_t sign = text.find('=');
  const std::size_t dot = text.find('.');
  if (sign == std::string::npos || dot == std::string::npos || dot == 0 ||
      dot + 1 >= sign || sign + 1 == text.size())
    return std::nullopt;
  return Change{text.substr(0, sign), text.substr(sign + 1)};
}

}  // namespace benchproof
