#include "core/verify/seen/overloads.h"

#include <vector>

#include "core/check/rest/unlimited_amps.h"
#include "core/verify/seen/brought.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

bool is_overload(const Finding& finding) {
  return finding.severity == Severity::fault && !is_expectation(finding) &&
         finding.follows.empty() &&
         (finding.check == "current-unlimited" ||
          (finding.bound == Bound::upper && finding.value && finding.limit));
}

std::vector<Finding> overloads_brought(const PosedState& posed,
                                       const std::vector<Finding>& now,
                                       const Solve& witness) {
  const Sight sight = sight_of(posed, witness, PinsRead::strong);
  if (!sight.loop.empty())
    return {unlimited_finding(posed.circuit(), sight.phase, sight.loop)};
  if (!sight.seen) return {};
  const CheckInput input = check_input(posed, *sight.seen);
  std::vector<Finding> found = brought(judge_at_rest(input, input).findings, now);
  std::erase_if(found, [](const Finding& f) { return !is_overload(f); });
  return found;
}

}  // namespace benchproof
