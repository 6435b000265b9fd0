#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/check/agree/agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/finding/finding.h"
#include "core/check/hand/by_hand.h"
#include "core/check/rest/check_input.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/observation.h"
#include "core/network/witnesses.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// One phase of a state (the only one, without PWM), as both witnesses see it.
struct PhaseResult {
  Phase phase;
  Network network;
  Solution engine;
  Solution nodal;
  Agreement agreement;
  Observation engine_seen;  ///< Empty unless solved.
  Observation nodal_seen;
  /// With strong pins, as the nodal witness sees it; empty where no output drives.
  std::optional<Observation> strong_seen;
  /// Set where nothing limits a current, or a supply stands apart (check_apart):
  /// neither witness was asked then.
  std::optional<Finding> unanswerable;
};

/// From best to worst.
enum class Verdict { good, caution, fault, disagreement, engine_failed, nodal_failed };

/// All that is known of one steady state.
struct StateResult {
  std::string name;
  std::vector<Part> parts;          ///< With the state's settings laid over them.
  std::vector<PhaseResult> phases;  ///< At least one.
  bool agrees = false;              ///< In every phase.
  Observation engine;               ///< Share-weighted over the phases.
  Observation nodal;
  /// Sorted; unless the witnesses agree, at most what no witness can answer.
  std::vector<Finding> findings;
  /// Which nets leakage alone sets in every phase (see floating_nets), one for each
  /// net; empty unless the witnesses agree.
  std::vector<bool> floating;
  std::vector<Margin> margins;  ///< Of every rating; only if the witnesses agree.
  std::vector<ExpectationResult> expectations;
  /// With PWM those of the phase in which every output is on.
  std::vector<HandResult> by_hand;
  Verdict verdict = Verdict::good;
};

struct Verification {
  std::vector<StateResult> states;  ///< In the description's order, steady ones only.
  Verdict verdict = Verdict::good;  ///< The worst of the states'.
};

/// The state of the circuit that a result is of.
[[nodiscard]] const State& state_of(const Circuit& circuit, const StateResult& result);

/// The first state that the witnesses agree on, where what holds whatever the state is
/// told.
[[nodiscard]] std::optional<std::size_t> first_agreed(
    const std::vector<StateResult>& states);

/// The verdict that findings come to; expected ones count as none.
[[nodiscard]] Verdict verdict_of(const std::vector<Finding>& findings);

/// The verdict on what the witnesses do not agree on, by how each came out.
[[nodiscard]] Verdict failure_of(SolveStatus engine, SolveStatus nodal);

/// What the nodal witness saw of a state that was judged; strong pins left out.
[[nodiscard]] SeenState seen_by_nodal(const StateResult& result);

/// Of each phase of a state why no witness can have an answer; nothing where they can.
using Unanswerable = std::vector<std::optional<Finding>>;
[[nodiscard]] Unanswerable unanswerable_phases(const PosedState& posed);

/// Solves one posed state with both witnesses and compares them. Nothing is judged: no
/// findings but that nothing limits a current, no margins, expectations and hand rules.
[[nodiscard]] StateResult see_by_both(const PosedState& posed, const Solve& engine,
                                      const Solve& nodal);
/// Where it is known already which phases are unanswerable.
[[nodiscard]] StateResult see_by_both(const PosedState& posed,
                                      Unanswerable unanswerable, const Solve& engine,
                                      const Solve& nodal);

/// What the checks were given of a state that was agreed on, as the nodal witness saw
/// it, or the engine. `result` is that of `state` and must outlive what is returned.
[[nodiscard]] CheckInput check_input(const Circuit& circuit, const State& state,
                                     const StateResult& result);
[[nodiscard]] CheckInput engine_input(const Circuit& circuit, const State& state,
                                      const StateResult& result);

}  // namespace benchproof
