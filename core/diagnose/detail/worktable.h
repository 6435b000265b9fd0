#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <deque>
#include <mutex>
#include <optional>
#include <unordered_map>
#include <utility>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/circuit/question.h"
#include "core/diagnose/detail/deviations.h"
#include "core/diagnose/detail/looks.h"
#include "core/diagnose/detail/rig.h"
#include "core/diagnose/meter.h"

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

/// What a dead chip or regulator may let through from a node to ground.
struct Leak {
  int node = 0;
  double ohms = 0.0;
  friend bool operator==(const Leak&, const Leak&) = default;
};

/// What networks that were solved came to, by what they are: many faults, and most
/// pairs, make the same network as another one in some states. Threads share it.
class Known {
 public:
  /// What the questions of a condition showed, in their order; nothing where it was not
  /// met before.
  [[nodiscard]] std::optional<std::vector<Shown>> find(std::uint64_t network) const;
  void keep(std::uint64_t network, std::vector<Shown> shown);

 private:
  mutable std::mutex mutex_;
  std::unordered_map<std::uint64_t, std::vector<Shown>> shown_;
};

/// A circuit and a meter: answers all questions of one build of the circuit after the
/// other. Refers to the conditions and the meter. One thread's.
class Worktable {
 public:
  /// `meant` is the circuit as meant, without what nobody measures (see bare);
  /// `witness` solves in place of the nodal one, where there is one.
  Worktable(const Circuit& meant, const Meter& meter,
            const std::vector<Condition>& conditions, std::size_t questions,
            Known& known, Solve witness = {});

  /// What a build of the circuit shows; what no condition asks for is not a number.
  /// Nets and parts of the circuit as meant keep their places in it. Without
  /// `with_spread` sigma is the meter's alone.
  void measure(const Circuit& built, Shown* row, bool with_spread);
  /// The circuit as meant.
  [[nodiscard]] const std::vector<Shown>& as_meant() const { return meant_; }

 private:
  /// What a condition comes to as meant.
  struct Nominal {
    Rig* rig = nullptr;
    std::vector<Solution> solutions;  ///< One a phase.
    std::vector<Works> works;         ///< Of each that is asked about.
    /// What each that is asked about comes to, and how it scatters: [phase][asked].
    /// With the power off the second phase is with leaks.
    struct Figure {
      double value = 0.0;
      Scatter scatter;
    };
    std::vector<std::vector<std::optional<Figure>>> figures;
    /// The volts of each probe without a meter, and with meters everywhere: [phase].
    std::vector<std::vector<std::pair<double, double>>> loads;
    std::vector<Part> parts;  ///< With the power off: those that are there.
    std::vector<Leak> leaks;
    /// What the nets are at while the meter tests: [phase][asked].
    std::array<std::vector<std::vector<double>>, 2> tested;
  };
  /// A circuit in a condition.
  struct Posed {
    const Circuit& circuit;
    const std::vector<Part>& parts;
    std::vector<Phase> phases;
    std::vector<Network> networks;  ///< One a phase.
    Rig& rig;
    Plan plan;
    std::vector<Leak> leaks;  ///< With the power off.
  };

  void measure(std::size_t condition, const Circuit& built, Shown* row);
  [[nodiscard]] std::uint64_t name_of(std::size_t condition, const Posed& posed) const;
  void measure_powered(std::size_t condition, Posed& posed, Shown* row);
  void measure_unpowered(std::size_t condition, Posed& posed, Shown* row);
  /// What the meter's resistance range or diode test shows, at which voltages of the
  /// nodes (none where there is no solution), by which current.
  struct Tested {
    Shown shown;
    std::vector<double> volts;
    double amps = 0.0;
  };
  /// Nets that another part stands between than as meant, with the power off; each such
  /// part's.
  [[nodiscard]] std::vector<std::vector<int>> changed_places(std::size_t condition,
                                                             const Posed& posed) const;
  /// Whether a test as meant leaves all of such nets at one voltage: then no part there
  /// carries anything, and another one would not either.
  [[nodiscard]] bool is_untouched(std::size_t condition, std::size_t asked,
                                  const std::vector<std::vector<int>>& places) const;
  /// `number` is that of what is asked in its condition.
  Tested tested(std::size_t condition, std::size_t number, Posed& posed,
                Network& network, const Solution* near, std::size_t phase);
  /// How a figure scatters as meant, where it is the same as meant; else null.
  [[nodiscard]] const Scatter* scatter_as_meant(std::size_t condition,
                                                std::size_t phase, std::size_t asked,
                                                double figure) const;
  /// What a meter shows as meant of a net that feels it, where the net is at the same
  /// volts as meant both without a meter and with meters everywhere; else null.
  [[nodiscard]] const Nominal::Figure* felt_as_meant(
      std::size_t condition, std::size_t phase, std::size_t asked,
      const std::pair<double, double>& loads) const;
  /// Keeps how a figure as meant scatters.
  void keep_scatter(std::size_t condition, std::size_t phase, std::size_t asked,
                    double figure, const Scatter& scatter);
  /// Makes what is shown as uncertain as what lies between it and `low`.
  static void blur(Shown& shown, const Shown& low);
  Rig& rig_of(std::size_t condition, const Plan& plan);

  const Meter& meter_;
  Solve witness_;
  const std::vector<Condition>& conditions_;
  std::deque<Rig> kept_;  ///< Of the circuit as meant.
  std::deque<Rig> rigs_;  ///< Of the build that is measured.
  std::vector<Nominal> nominal_;
  std::vector<Shown> meant_;
  Known& known_;
  bool is_first_ = true;
  bool with_spread_ = true;
};

}  // namespace benchproof
