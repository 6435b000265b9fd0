#include "core/verify/runs/hold_expected.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/verify/seen/expected_findings.h"

namespace benchproof {
namespace {

constexpr Explanation kMissing[] = {
    {"finding-missing", "a finding that the description expects",
     "one of the findings has the id, and the part, net and grade where they are given",
     "the description's own [[expect]] with 'finding' (given)",
     "the mistake that was made on purpose is not there, or is not seen any more",
     "look whether the circuit was mended, or the id, part or grade is another now"},
};
consteval CheckId missing_id() { return {kMissing, "finding-missing"}; }

Finding missing_finding(const Circuit& circuit, const ExpectedFinding& expected) {
  Finding finding;
  finding.severity = Severity::fault;
  finding.check = missing_id();
  finding.part = expected.part;
  finding.net = expected.net;
  finding.message =
      fmt::format("the expected finding {} is not there", name_of(circuit, expected));
  if (!expected.why.empty()) finding.message += fmt::format(": {}", expected.why);
  finding.source = "the description's expectation";
  finding.mark = Mark::given;
  finding.span = expected.span;
  return finding;
}

/// The findings and the verdict of a state or run.
struct Place {
  std::vector<Finding>* findings;
  Verdict* verdict;
  std::string_view state;  ///< Empty for a run.
  int run = -1;
};

/// Whether witnesses were heard in a place, so that findings could be made.
bool is_judged(const Place& place) { return *place.verdict <= Verdict::fault; }

std::vector<Place> places_of(const Circuit& circuit, Verification& verification,
                             std::vector<RunResult>& runs) {
  std::vector<Place> places;
  for (StateResult& state : verification.states)
    places.push_back({&state.findings, &state.verdict, state.name, -1});
  for (RunResult& run : runs)
    places.push_back({&run.findings, &run.verdict, "",
                      static_cast<int>(run.run - circuit.runs.data())});
  return places;
}

}  // namespace

std::vector<ExpectedFindingResult> hold_expected_findings(const Circuit& circuit,
                                                          Verification& verification,
                                                          std::vector<RunResult>& runs,
                                                          bool is_whole) {
  std::vector<ExpectedFindingResult> results;
  const std::vector<Place> places = places_of(circuit, verification, runs);
  for (const ExpectedFinding& expected : circuit.expected_findings) {
    ExpectedFindingResult result{&expected, 0};
    const Place* first = nullptr;
    for (const Place& place : places) {
      if (!is_judged(place) || !is_expected_in(expected, place.state, place.run))
        continue;
      if (first == nullptr) first = &place;
      result.count += static_cast<int>(
          std::count_if(place.findings->begin(), place.findings->end(),
                        [&](const Finding& f) { return is_meant(expected, f); }));
    }
    const bool is_anywhere = expected.state.empty() && expected.run < 0;
    if (result.count == 0 && (first == nullptr || (is_anywhere && !is_whole))) continue;
    results.push_back(result);
    if (result.count > 0) continue;
    first->findings->push_back(missing_finding(circuit, expected));
    sort_by_severity(*first->findings);
    *first->verdict = std::max(*first->verdict, Verdict::fault);
  }
  for (const StateResult& state : verification.states)
    verification.verdict = std::max(verification.verdict, state.verdict);
  return results;
}

std::span<const Explanation> explain_expected_findings() { return kMissing; }

}  // namespace benchproof
