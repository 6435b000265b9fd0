#pragma once

#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/check/expect/expectations.h"
#include "core/check/finding/finding.h"
#include "core/check/rest/check_input.h"
#include "core/check/table/checks.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/observation.h"
#include "core/network/plan.h"

namespace benchproof {

// The one way from a circuit in a state to what the checks are given: pose it, let a
// witness see it, make the input. Whatever judges a state at rest goes through here.

/// A phase of a posed state, lowered.
struct PosedPhase {
  Phase phase;
  Network network;
};

/// A state at rest, ready for the witnesses. All phases share one structure.
class PosedState {
 public:
  /// `known`, where given, is the structure of another state of the circuit (see
  /// make_plan). The circuit must outlive what is posed.
  PosedState(const Circuit& circuit, State state,
             std::shared_ptr<const Structure> known = nullptr);

  [[nodiscard]] const Circuit& circuit() const { return circuit_; }
  [[nodiscard]] const State& state() const { return state_; }
  /// With the state's settings laid over them.
  [[nodiscard]] const std::vector<Part>& parts() const { return parts_; }
  [[nodiscard]] const std::vector<PosedPhase>& phases() const { return phases_; }
  [[nodiscard]] const std::shared_ptr<const Structure>& structure() const {
    return plan_.structure;
  }

  /// What check_apart tells of the circuit: where it tells something, no witness can
  /// answer.
  [[nodiscard]] const std::vector<Finding>& apart() const { return apart_; }

  /// Lets the state set a part's key to another number, and takes the part in again.
  void put(int part, std::string_view key, double value);

  /// Undoes what was put there: the part and all values are as in `before`, of which
  /// this is a copy.
  void put_back(int part, std::string_view key, const PosedState& before);

  /// Takes a part of the circuit in again, whose numbers have changed: its values alone
  /// are filled in anew, unless they ask for other elements (an ESR of 0).
  void refresh(int part);

  /// Puts other values in place of what the circuit says: one network a phase, of the
  /// same structure.
  void replace(const std::vector<Network>& networks);

 private:
  void fill_all();

  const Circuit& circuit_;
  State state_;
  std::vector<Part> parts_;
  Plan plan_;
  std::vector<PosedPhase> phases_;
  std::vector<Finding> apart_;
};

/// Every steady state of a circuit, or those of the names in `only`, of one structure
/// where that is possible.
[[nodiscard]] std::deque<PosedState> pose_states(
    const Circuit& circuit, const std::vector<std::string>& only = {});

/// What one witness has seen of a posed state: one observation a phase.
struct SeenState {
  std::vector<Observation> phases;
  /// With strong pins; nothing where no output drives, or the witness has no answer.
  std::vector<std::optional<Observation>> strong;
  Observation average;  ///< Share-weighted over the phases.
};

/// How a witness that was asked sees a posed state.
struct Sight {
  std::optional<SeenState> seen;  ///< Nothing where something stands below.
  std::vector<int> loop;          ///< Parts of a loop in which nothing limits a current
  std::string phase;              ///< ... in the phase of this name.
  std::string reason;             ///< Of a witness without an answer, or not asked.
};

/// Asks one witness about every phase, with strong pins too if told. Ends at the first
/// phase without an answer.
[[nodiscard]] Sight sight_of(const PosedState& posed, const Solve& witness,
                             PinsRead pins);

/// Asks about strong pins, too, where that was left out at first.
void see_strong(const PosedState& posed, const Solve& witness, SeenState& seen);

/// A phase with strong pins (see with_strong_pins) as a witness sees it; nothing where
/// no output drives, or the witness has no answer.
[[nodiscard]] std::optional<Observation> strong_seen(const Circuit& circuit,
                                                     const PosedPhase& phase,
                                                     const Solve& witness);

/// What the checks are given of a state as a witness saw it. All must outlive it.
[[nodiscard]] CheckInput check_input(const PosedState& posed, const SeenState& seen);
[[nodiscard]] CheckInput check_input(const Circuit& circuit, const State& state,
                                     const std::vector<Part>& parts,
                                     std::vector<SeenPhase> phases,
                                     const Observation& average);

/// What all checks and expectations say of a state at rest.
struct Judgement {
  std::vector<ExpectationResult> expectations;
  std::vector<Finding> findings;  ///< Sorted.
};

/// Judges a state that both witnesses agree on: ratings and function by what the nodal
/// one saw, expectations by both. `others` are put among the findings.
[[nodiscard]] Judgement judge_at_rest(const CheckInput& engine, const CheckInput& nodal,
                                      std::vector<Finding> others = {});

}  // namespace benchproof
