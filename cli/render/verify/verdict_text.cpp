#include "cli/render/verify/verdict_text.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "cli/render/layout.h"

namespace benchproof {
namespace {

/// "in 'night' and 'day'", of the states and runs with that verdict; long lists are
/// counted.
std::string where(const FileReport& report, Verdict verdict) {
  std::vector<std::string> names;
  for (const StateResult& state : report.verification.states)
    if (state.verdict == verdict) names.push_back("'" + state.name + "'");
  for (const RunResult& run : report.runs)
    if (run.verdict == verdict) {
      const std::string name = "'" + run.name + "'";
      const bool is_clear = std::find(names.begin(), names.end(), name) == names.end();
      names.push_back(is_clear ? name : "run " + name);
    }
  constexpr std::size_t kMostNames = 4;
  if (names.size() > kMostNames) return fmt::format("in {} places", names.size());
  return fmt::format("in {}", fmt::join(names, ", "));
}

/// "state 'night'", "both states and 3 runs", "all 3 states and run 'power up'".
std::string judged_text(const FileReport& report) {
  const std::vector<StateResult>& states = report.verification.states;
  std::vector<std::string> what;
  if (states.size() == 1) what.push_back(fmt::format("state '{}'", states[0].name));
  if (states.size() == 2) what.emplace_back("both states");
  if (states.size() > 2) what.push_back(fmt::format("all {} states", states.size()));
  if (report.runs.size() == 1)
    what.push_back(fmt::format("run '{}'", report.runs[0].name));
  if (report.runs.size() > 1)
    what.push_back(fmt::format("{} runs", report.runs.size()));
  return fmt::format("{}", fmt::join(what, " and "));
}

}  // namespace

Counts counts_of(const FileReport& report) {
  Counts counts;
  const auto count = [&counts](const std::vector<Finding>& findings) {
    counts.faults += count_of(findings, Severity::fault);
    counts.cautions += count_of(findings, Severity::caution);
  };
  for (const StateResult& state : report.verification.states) count(state.findings);
  for (const RunResult& run : report.runs) count(run.findings);
  return counts;
}

std::string verdict_line(const FileReport& report, const Counts& counts) {
  const Verification& v = report.verification;
  const Verdict verdict = verdict_of(report);
  const std::string states = judged_text(report);
  switch (verdict) {
    case Verdict::good: {
      const bool is_asked =
          std::all_of(v.states.begin(), v.states.end(),
                      [](const StateResult& s) { return !s.expectations.empty(); });
      return fmt::format("good - {}within every known rating, in {}",
                         is_asked ? "does what is asked, " : "", states);
    }
    case Verdict::caution:
      return fmt::format("good, with care - works in {}; {} to read before building",
                         states, counted(counts.cautions, "caution"));
    case Verdict::fault:
      return fmt::format("fault - {} {}; do not build it like this",
                         counted(counts.faults, "fault"), where(report, verdict));
    case Verdict::disagreement:
      return fmt::format("withheld - the witnesses disagree {}",
                         where(report, verdict));
    case Verdict::engine_failed:
      return fmt::format("withheld - the engine witness has no answer {}",
                         where(report, verdict));
    case Verdict::nodal_failed:
      return fmt::format("withheld - the nodal witness has no answer {}",
                         where(report, verdict));
  }
  return {};
}

}  // namespace benchproof
