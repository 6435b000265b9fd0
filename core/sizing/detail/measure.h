#pragma once

#include <memory>
#include <optional>
#include <utility>

#include "core/check/rest/check_input.h"
#include "core/circuit/circuit.h"
#include "core/network/network.h"
#include "core/network/timeline.h"
#include "core/sizing/goal.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// The goal's figure as a witness saw it in a state at rest. Nothing for a time
/// constant, of which what was seen does not tell.
[[nodiscard]] std::optional<double> figure_seen(const Goal& goal,
                                                const CheckInput& input);

/// The goal's figure in a state at rest, which is posed once.
class RestFigure {
 public:
  /// Goal and circuit must outlive it.
  RestFigure(const Goal& goal, const Circuit& circuit, State state)
      : goal_(goal), posed_(circuit, std::move(state)) {}

  /// Takes a part of the circuit in again, whose numbers have changed.
  void refresh(int part) { posed_.refresh(part); }

  /// Whether the state has one solution at most, wherever a solver starts: so it is
  /// where the current of every element only rises with its voltage [Duffin 1947,
  /// "Nonlinear networks IIa", Bull. Amer. Math. Soc. 53(10), from memory], which is so
  /// but for transistors and regulators.
  [[nodiscard]] bool has_one_solution() const;

  /// As a witness has it. Not a number where the witness has no answer or nothing
  /// limits a current.
  [[nodiscard]] double by(const Solve& witness);

 private:
  double time_constant(const Solve& witness);

  const Goal& goal_;
  PosedState posed_;
  /// The posed state's structure with a probe, made when it is asked for.
  std::shared_ptr<const Structure> probed_;
  std::shared_ptr<const Structure> unprobed_;
};

/// When the goal's level is reached in a waveform of its run. Second; infinite where it
/// is never reached, not a number where the witness has no answer.
[[nodiscard]] double time_reached(const Goal& goal, const Waveform& waveform);

/// When the goal's level is reached in the run of a circuit, as a witness has it (see
/// above). What comes later than `within` is never reached.
[[nodiscard]] double time_reached(const Goal& goal, const Circuit& circuit,
                                  const SolveUntil& witness, double within);

}  // namespace benchproof
