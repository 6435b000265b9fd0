#include "cli/render/regress/regress_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "cli/render/verify/report.h"
#include "core/base/quantity.h"

namespace benchproof {
namespace {

Verdict worst_verdict(const CircuitOutcome& outcome) {
  Verdict worst = Verdict::good;
  for (const CaseOutcome& each : outcome.cases) worst = std::max(worst, each.verdict);
  return worst;
}

std::string figure(double value, Unit unit) {
  constexpr int kDigits = 5;
  return format_quantity(value, unit, kDigits);
}

}  // namespace

int exit_status(const CircuitOutcome& outcome) {
  constexpr int kGood = 0, kFault = 1, kRefused = 2, kNoAnswer = 3, kDisagreement = 4;
  const Verdict worst = worst_verdict(outcome);
  if (worst == Verdict::disagreement) return kDisagreement;
  if (worst > Verdict::fault || outcome.is_unanswered) return kNoAnswer;
  if (!outcome.complaints.empty() || !outcome.trouble.empty()) return kRefused;
  return passes(outcome) ? kGood : kFault;
}

void add(RegressTally& sum, const CircuitOutcome& circuit) {
  sum.status = std::max(sum.status, exit_status(circuit));
  ++sum.circuits;
  if (passes(circuit)) ++sum.passed;
  if (circuit.is_kept) ++sum.kept;
  const bool is_as_recorded = circuit.recording == Recording::compared ||
                              circuit.recording == Recording::unchanged;
  if (is_as_recorded) ++sum.compared;
  if (circuit.recording == Recording::written) ++sum.written;
  std::set<std::string_view> variants;
  for (const CaseOutcome& each : circuit.cases) {
    (each.name.is_run ? sum.runs : sum.states) += 1;
    sum.expectations += each.expectations;
    sum.published += each.published;
    if (!each.name.variant.empty()) variants.insert(each.name.variant);
  }
  sum.variants += static_cast<int>(variants.size());
}

void add(RegressTally& sum, const RegressTally& other) {
  sum.status = std::max(sum.status, other.status);
  sum.circuits += other.circuits;
  sum.passed += other.passed;
  sum.kept += other.kept;
  sum.states += other.states;
  sum.runs += other.runs;
  sum.variants += other.variants;
  sum.expectations += other.expectations;
  sum.published += other.published;
  sum.compared += other.compared;
  sum.written += other.written;
}

std::string moved_text(const Moved& moved) {
  if (!moved.was && !moved.is) return moved.what;
  if (!moved.was)
    return fmt::format("{} is {}, and was not recorded", moved.what,
                       figure(*moved.is, moved.unit));
  if (!moved.is)
    return fmt::format("{} was {}, and is not there any more", moved.what,
                       figure(*moved.was, moved.unit));
  return fmt::format("{} was {}, is {}; it may move by {}", moved.what,
                     figure(*moved.was, moved.unit), figure(*moved.is, moved.unit),
                     format_quantity(moved.most, moved.unit, 2));
}

std::vector<std::string> failure_lines(const CaseOutcome& outcome) {
  std::vector<std::string> lines = outcome.problems;
  for (const Moved& each : outcome.moved) lines.push_back(moved_text(each));
  return lines;
}

std::vector<std::string> failure_lines(const CircuitOutcome& outcome) {
  std::vector<std::string> lines = outcome.complaints;
  if (!outcome.trouble.empty()) lines.push_back(outcome.trouble);
  for (const CaseName& name : outcome.gone)
    lines.push_back(fmt::format(
        "{} is recorded, but not described; --record writes what is", case_text(name)));
  return lines;
}

std::string_view outcome_word(const CircuitOutcome& outcome) {
  if (!outcome.complaints.empty()) return "refused";
  const Verdict worst = worst_verdict(outcome);
  if (worst >= Verdict::fault) return verdict_word(worst);
  if (!outcome.trouble.empty()) return "trouble";
  return passes(outcome) ? "passed" : "moved";
}

}  // namespace benchproof
