#include "core/regress/outcome.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "core/base/nine_digits.h"
#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"

namespace benchproof {
namespace {

bool is_published(const Expectation& e) {
  return !e.source.empty() && e.mark != "memory" && e.mark != "practice";
}

void count(const Expectation& e, CaseOutcome& outcome) {
  ++outcome.expectations;
  if (is_published(e)) ++outcome.published;
}

/// The faults in words, those that follow from others left out.
std::vector<std::string> fault_lines(const std::vector<Finding>& findings) {
  std::vector<std::string> lines;
  for (const Finding& f : findings)
    if (counts_as(f, Severity::fault) && f.follows.empty())
      lines.push_back(fmt::format("{} [{}]", f.message, f.check));
  return lines;
}

std::string reason_of(const StateResult& state) {
  for (const PhaseResult& phase : state.phases)
    if (!phase.agreement.agrees) return phase.agreement.reason;
  return {};
}

std::string limit_text(const Circuit& circuit, const Margin& margin) {
  std::string of;
  if (margin.part >= 0) {
    const Part& part = circuit.parts.at(static_cast<std::size_t>(margin.part));
    of = part.name;
    if (margin.pin >= 0) of += "." + part.pins.at(static_cast<std::size_t>(margin.pin));
  }
  return fmt::format("{}: {}{}{}", of, margin.check,
                     margin.limit_of.empty() ? "" : ", ", margin.limit_of);
}

/// The first of the limits that came nearest; one that is passed is a finding.
std::optional<NearLimit> nearest_of(const Circuit& circuit,
                                    const std::vector<Margin>& margins) {
  const Margin* nearest = nullptr;
  double least = 0.0;
  for (const Margin& each : margins) {
    const auto share = margin(each);
    if (!share || *share < 0.0) continue;
    const bool is_nearer =
        nearest == nullptr || nine_digits(*share) < nine_digits(least);
    if (!is_nearer) continue;
    nearest = &each;
    least = *share;
  }
  if (nearest == nullptr) return std::nullopt;
  return NearLimit{least, limit_text(circuit, *nearest)};
}

CaseOutcome outcome_of(const Circuit& circuit, const StateResult& state) {
  CaseOutcome outcome;
  outcome.name = {circuit.variant, false, state.name};
  outcome.verdict = state.verdict;
  if (state.verdict > Verdict::fault) outcome.problems = {reason_of(state)};
  if (state.verdict == Verdict::fault) outcome.problems = fault_lines(state.findings);
  for (const ExpectationResult& r : state.expectations) count(*r.expectation, outcome);
  outcome.nearest = nearest_of(circuit, state.margins);
  return outcome;
}

CaseOutcome outcome_of(const Circuit& circuit, const RunResult& run) {
  CaseOutcome outcome;
  outcome.name = {circuit.variant, true, run.name};
  outcome.verdict = run.verdict;
  if (run.verdict > Verdict::fault) outcome.problems = {run.agreement.reason};
  if (run.verdict == Verdict::fault) outcome.problems = fault_lines(run.findings);
  for (const RunExpectationResult& r : run.expectations) count(*r.expectation, outcome);
  return outcome;
}

}  // namespace

std::vector<CaseOutcome> case_outcomes(const JudgedVersion& version) {
  std::vector<CaseOutcome> outcomes;
  for (const StateResult& state : version.verification->states)
    outcomes.push_back(outcome_of(*version.circuit, state));
  for (const RunResult& run : *version.runs)
    outcomes.push_back(outcome_of(*version.circuit, run));
  return outcomes;
}

void hold_against(const Recorded& recorded, const std::vector<CaseRecord>& now,
                  CircuitOutcome& outcome) {
  for (CaseOutcome& each : outcome.cases) {
    const CaseRecord* is = find_case(now, each.name);
    if (is == nullptr) continue;  // No answer, which is told already.
    const CaseRecord* was = find_case(recorded.cases, each.name);
    if (was == nullptr) {
      each.moved = {{"the case is not recorded yet", Unit::none, {}, {}, 0.0}};
    } else {
      each.moved = moved(*was, *is, recorded.tolerance);
    }
  }
  for (const CaseRecord& was : recorded.cases) {
    const bool is_there =
        std::any_of(outcome.cases.begin(), outcome.cases.end(),
                    [&was](const CaseOutcome& c) { return c.name == was.name; });
    if (!is_there) outcome.gone.push_back(was.name);
  }
}

bool passes(const CaseOutcome& outcome) {
  return outcome.verdict < Verdict::fault && outcome.moved.empty();
}

bool passes(const CircuitOutcome& outcome) {
  return outcome.complaints.empty() && outcome.trouble.empty() &&
         outcome.gone.empty() &&
         std::all_of(outcome.cases.begin(), outcome.cases.end(),
                     [](const CaseOutcome& c) { return passes(c); });
}

}  // namespace benchproof
