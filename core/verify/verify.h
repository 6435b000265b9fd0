#pragma once

#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "core/check/agree/agreement.h"
#include "core/check/expect/expectations.h"
#include "core/check/finding/finding.h"
#include "core/check/hand/by_hand.h"
#include "core/check/rest/check.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/observation.h"
#include "core/network/witnesses.h"
#include "core/verify/at_rest.h"

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

/// What to say where nothing limits the current in a loop of parts (see
/// unlimited_loop), in a phase if it has a name.
[[nodiscard]] Finding unlimited_finding(const Circuit& circuit,
                                        const std::string& phase,
                                        const std::vector<int>& loop);

/// What becomes of supplies that do not say whether they are regulated: each is asked
/// about (see check_doubted_supplies), or all are left as they are described.
enum class Supplies { doubted, as_described };

/// Solves every steady state (or only those named in `only`; names that no state has
/// are passed over) with both witnesses, and where they agree checks ratings,
/// expectations and hand rules. A state in which they do not has a verdict, solutions
/// and a reason (see Agreement), but no findings. What holds over all states ("never
/// lights") is looked at when all were solved and agreed on, and told in the state that
/// comes nearest. The engine is asked about all states while what it and the other
/// witness have said is judged, if `side_by_side` does two jobs at once.
[[nodiscard]] Verification verify(const Circuit& circuit, const Solve& engine,
                                  const Solve& nodal,
                                  const std::vector<std::string>& only = {},
                                  Supplies supplies = Supplies::doubted,
                                  const SideBySide& side_by_side = in_turn);

/// Judges states as they are posed, by both witnesses: ratings, function, expectations
/// and hand rules. What other settings, copies or states would bring is not looked at.
[[nodiscard]] Verification verify_as_posed(const std::deque<PosedState>& posed,
                                           const Solve& engine, const Solve& nodal);

/// What the nodal witness saw of a state that was judged; strong pins left out.
[[nodiscard]] SeenState seen_by_nodal(const StateResult& result);

/// Solves one posed state with both witnesses and compares them. Nothing is judged: no
/// findings but that nothing limits a current, no margins, expectations and hand rules.
[[nodiscard]] StateResult see_by_both(const PosedState& posed, const Solve& engine,
                                      const Solve& nodal);

/// What the checks were given of a state that was agreed on, as the nodal witness saw
/// it, or the engine. `result` is that of `state` and must outlive what is returned.
[[nodiscard]] CheckInput check_input(const Circuit& circuit, const State& state,
                                     const StateResult& result);
[[nodiscard]] CheckInput engine_input(const Circuit& circuit, const State& state,
                                      const StateResult& result);

}  // namespace benchproof
