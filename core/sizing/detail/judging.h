#pragma once

#include <optional>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/witnesses.h"
#include "core/sizing/detail/choices.h"
#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"
#include "core/verify/runs/verify_runs.h"

namespace benchproof {

/// The choices as both witnesses have them at rest. Of more pairs than are shown only
/// those are among them that are near the goal and without a fault, one of which is
/// enough, and the present one.
[[nodiscard]] std::vector<SizeChoice> judged_at_rest(const Circuit& circuit,
                                                     const SizeRequest& request,
                                                     const Witnesses& witnesses,
                                                     const Choices& choices);

/// Judges the candidates in the goal's run, those on the wrong side of a bound left
/// out. The engine is slow in time: it is asked, beside all the rest, about the
/// candidate that is likely the best, and where another one is, about that too.
/// Returns each candidate's `figures_at_ends`, which are sought meanwhile.
[[nodiscard]] std::vector<std::vector<double>> judge_in_run(const Circuit& circuit,
                                                            const SizeRequest& request,
                                                            const Witnesses& witnesses,
                                                            Figures& figures,
                                                            Sizing& sizing);

/// All runs but the goal's with some values, by the nodal witness.
struct OtherRuns {
  std::vector<double> values;
  std::vector<RunResult> results;
};
[[nodiscard]] OtherRuns other_runs(const Circuit& circuit, const SizeRequest& request,
                                   const Witnesses& witnesses,
                                   const std::vector<double>& values);

/// Sets which candidate is recommended, after what all runs and the engine say of it.
/// `known`: what runs say of values that have been judged already.
void recommend(const Circuit& circuit, const SizeRequest& request,
               const Witnesses& witnesses, std::optional<OtherRuns> known,
               Sizing& sizing);

/// What the figure takes while every value moves over its part's tolerance: at both
/// ends of each, alone and with all at those ends that move it one way.
[[nodiscard]] std::vector<double> figures_at_ends(Figures& figures,
                                                  const Circuit& circuit,
                                                  const SizeRequest& request,
                                                  const std::vector<double>& values);

/// Notes the band of a choice, by its figure and those at the ends.
void put_band(const std::vector<double>& at_ends, SizeChoice& choice);

}  // namespace benchproof
