#pragma once

#include <cstddef>
#include <deque>
#include <optional>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/diagnose/detail/deviations.h"
#include "core/diagnose/detail/looks.h"
#include "core/diagnose/detail/rig.h"
#include "core/diagnose/meter.h"
#include "core/diagnose/question.h"

namespace benchproof {

/// A question with its names looked up.
struct Asked {
  std::size_t question = 0;  ///< Its index.
  Asks asks = Asks::voltage;
  std::size_t probe = 0;  ///< Of a voltage, a resistance, a diode test.
  int part = -1;          ///< Of a current, or of looks.
  int pin = 0;
};

/// What some questions have in common: a state, or the power off and parts out.
struct Condition {
  bool powered = true;
  int state = -1;        ///< Index; -1: none is told.
  std::vector<int> out;  ///< Parts.
  std::vector<Asked> asked;
  std::vector<Probe> probes;  ///< Of all conditions of its sort: they share structures.
  std::vector<std::vector<DrawDeviations>>
      deviations;  ///< [phase][draw]; may be empty.
};

/// The conditions of questions, powered ones first. Questions that name what is not
/// there stand in none.
[[nodiscard]] std::vector<Condition> conditions_of(
    const Circuit& circuit, const std::vector<Question>& questions, bool spread);

/// A circuit and a meter: answers all questions of one build of the circuit after the
/// other. Refers to the conditions and the meter. One thread's.
class Worktable {
 public:
  /// `meant` is the circuit as meant, without what nobody measures (see bare).
  Worktable(const Circuit& meant, const Meter& meter,
            const std::vector<Condition>& conditions, std::size_t questions);

  /// What a build of the circuit shows; what no condition asks for is not a number.
  /// Nets and parts of the circuit as meant keep their places in it.
  void measure(const Circuit& built, Shown* row);
  /// The circuit as meant.
  [[nodiscard]] const std::vector<Shown>& as_meant() const { return meant_; }

 private:
  /// What a condition comes to as meant.
  struct Nominal {
    Rig* rig = nullptr;
    std::vector<Network> networks;  ///< One a phase.
    std::vector<Solution> solutions;
    std::vector<Works> works;  ///< Of each that is asked about.
  };
  /// A circuit in a condition.
  struct Posed {
    const Circuit& circuit;
    const std::vector<Part>& parts;
    std::vector<Phase> phases;
    std::vector<Network> networks;  ///< One a phase.
    Rig& rig;
    Plan plan;
  };

  void measure(std::size_t condition, const Circuit& built, Shown* row);
  void measure_powered(std::size_t condition, Posed& posed, Shown* row);
  void measure_unpowered(std::size_t condition, Posed& posed, Shown* row);
  Rig& rig_of(std::size_t condition, const Plan& plan);
  [[nodiscard]] bool is_as_meant(std::size_t condition,
                                 const std::vector<Network>& networks) const;

  const Meter& meter_;
  const std::vector<Condition>& conditions_;
  std::deque<Rig> kept_;  ///< Of the circuit as meant.
  std::deque<Rig> rigs_;  ///< Of the build that is measured.
  std::vector<Nominal> nominal_;
  std::vector<Shown> meant_;
  bool is_first_ = true;
};

}  // namespace benchproof
