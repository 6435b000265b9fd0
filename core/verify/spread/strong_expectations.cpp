#include "core/verify/spread/strong_expectations.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "core/check/expect/expectations.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/wording.h"
#include "core/check/rest/limits.h"
#include "core/network/edits.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutStrongExpectations[] = {
    {"expectation-pins", "an expectation that holds with weak output pins only",
     "the state is solved again, by both witnesses, with every output at 25 ohm, "
     "unless "
     "the description says how strong it is: a caution where a bound holds with the "
     "weak "
     "pin and not then; bounds written as 'nominal' are left out",
     "the bound; 25 ohm: common practice, no source (practice)",
     "sheets promise how weak a pin is at worst; most copies are two or three times as "
     "strong, and a current that hangs on the pin is higher then",
     "a larger resistor and, where it must be as much, a transistor; or wider bounds"},
};

/// What the engine sees with strong pins; nothing where a phase has no outputs, or it
/// no answer.
std::optional<std::vector<Observation>> seen_by(const Circuit& circuit,
                                                const StateResult& result,
                                                const Solve& engine) {
  std::vector<Observation> seen;
  for (const PhaseResult& phase : result.phases) {
    const auto strong = with_strong_pins(circuit, phase.phase.state, phase.network);
    if (!strong || !phase.strong_seen) return std::nullopt;
    const Solution solution = engine(*strong);
    if (!is_complete(*strong, solution)) return std::nullopt;
    seen.push_back(observe(circuit, *strong, solution));
  }
  return seen;
}

/// Expectations of a state with strong pins as one witness sees them, phase by phase.
std::vector<ExpectationResult> held(const Circuit& circuit, const State& state,
                                    const StateResult& result,
                                    const std::vector<Observation>& seen) {
  std::vector<double> shares;
  std::vector<SeenPhase> phases;
  for (std::size_t k = 0; k < seen.size(); ++k) {
    shares.push_back(result.phases[k].phase.share);
    phases.push_back({result.phases[k].phase, seen[k], nullptr});
  }
  const Observation mean = average(seen, shares);
  const CheckInput input =
      check_input(circuit, state, result.parts, std::move(phases), mean);
  return hold_expectations(input, input);
}

bool holds_of(const std::vector<ExpectationResult>& results, const Expectation* e) {
  return std::any_of(results.begin(), results.end(), [e](const ExpectationResult& r) {
    return r.expectation == e && r.holds;
  });
}

Finding told_weak(const Circuit& circuit, const std::string& state,
                  const ExpectationResult& weak, const ExpectationResult& strong) {
  const Expectation& e = *weak.expectation;
  const auto [quantity, unit] = words_of(e.quantity);
  Finding finding = expectation_finding(circuit, e);
  finding.severity = Severity::caution;
  finding.check = CheckId(kAboutStrongExpectations, "expectation-pins");
  const bool is_above = e.most && strong.nodal > *e.most;
  finding.value = strong.nodal;
  finding.limit = is_above ? *e.most : *e.least;
  finding.bound = is_above ? Bound::upper : Bound::lower;
  finding.message = fmt::format(
      "{} of {} is {} in state '{}' with the weakest pin that is sold and {} with a "
      "strong one, {} the {} expected; put in a larger resistor, or widen the bound",
      quantity, subject_of(circuit, e), short_text(weak.nodal, unit), state,
      short_text(strong.nodal, unit), is_above ? "above" : "below",
      short_text(*finding.limit, unit));
  return finding;
}

}  // namespace

std::vector<Finding> check_strong_expectations(const Circuit& circuit,
                                               const State& state,
                                               const StateResult& result,
                                               const Solve& engine) {
  std::vector<Observation> by_nodal;
  for (const PhaseResult& phase : result.phases) {
    if (!phase.strong_seen) return {};
    by_nodal.push_back(*phase.strong_seen);
  }
  const std::vector<ExpectationResult> strong = held(circuit, state, result, by_nodal);
  std::vector<Finding> findings;
  std::optional<std::vector<ExpectationResult>> confirmed;
  for (const ExpectationResult& weak : result.expectations) {
    const auto then = std::find_if(
        strong.begin(), strong.end(),
        [&](const ExpectationResult& r) { return r.expectation == weak.expectation; });
    if (!weak.holds || weak.expectation->nominal || then == strong.end() ||
        then->holds || !std::isfinite(then->nodal))
      continue;
    if (!confirmed) {
      const auto by_engine = seen_by(circuit, result, engine);
      if (!by_engine) return {};
      confirmed = held(circuit, state, result, *by_engine);
    }
    if (!holds_of(*confirmed, weak.expectation))
      findings.push_back(told_weak(circuit, state.name, weak, *then));
  }
  return findings;
}

std::span<const Explanation> explain_strong_expectations() {
  return kAboutStrongExpectations;
}

}  // namespace benchproof
