#pragma once

#include <string>
#include <string_view>

#include "core/check/hand/by_hand.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "tests/unit/check/bench.h"

namespace benchproof::bench {

/// The first result of a rule (about a part, if one is named) in the first state.
inline const HandResult* find_rule(const Bench& bench, std::string_view rule,
                                   std::string_view part = {}) {
  for (const HandResult& result : bench.verification.states[0].by_hand) {
    if (result.rule == rule && (part.empty() || result.part == part)) return &result;
  }
  return nullptr;
}

/// Whether a rule fires on a description: its first state, at rest.
inline bool fires(std::string_view rule, const std::string& text) {
  return find_rule(verified(text), rule) != nullptr;
}

/// The results of the first run. The nodal solver serves as both witnesses.
inline std::vector<HandResult> of_run(const std::string& text) {
  const Catalogue catalogue = built_in_catalogue();
  const Circuit circuit = read(catalogue, text);
  const RunResult run = verify_run(circuit, 0, nodal_in_time, nodal_in_time);
  CAPTURE(run.agreement.reason);
  REQUIRE(run.agreement.agrees);
  return run.by_hand;
}

}  // namespace benchproof::bench
