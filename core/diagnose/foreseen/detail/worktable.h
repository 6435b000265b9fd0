#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <unordered_map>
#include <utility>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/circuit/question.h"
#include "core/diagnose/foreseen/detail/conditions.h"
#include "core/diagnose/foreseen/detail/deviations.h"
#include "core/diagnose/foreseen/detail/looks.h"
#include "core/diagnose/foreseen/detail/pieces.h"
#include "core/diagnose/foreseen/detail/rig.h"
#include "core/diagnose/foreseen/meter.h"

namespace benchproof {

/// What the nets of a build are at while the meter tests, with the power off.
struct Tests {
  /// Whether what a question shows was taken from the circuit as meant, with which the
  /// build is of one voltage there.
  std::vector<char> is_as_meant;
  /// Without and with leaks: [phase][asked][node]; empty where nothing was solved. As
  /// meant nothing was asked with leaks where none was felt.
  std::array<std::vector<std::vector<double>>, 2> volts;
};

/// Where a build under power came to rest: what one that has more faults starts near.
struct Rest {
  std::shared_ptr<const PiecePlan> plan;
  std::vector<Solution> solutions;  ///< One a phase; none where there is no answer.
  int iterations = 0;               ///< What they took, all together.
};

/// What the questions of a condition show of a build, in their order.
struct Showing {
  std::vector<Shown> shown;
  Tests tests;
  Rest rest;
};

/// What builds were found to show, by the names of what they have otherwise: many
/// faults, and most pairs, make the same network as another one in some conditions.
/// Threads share it; what stands in it stays where it is.
class Known {
 public:
  /// Null where it was not met before.
  [[nodiscard]] const Showing* find(std::uint64_t name) const;
  const Showing& keep(std::uint64_t name, Showing showing);

 private:
  mutable std::mutex mutex_;
  std::unordered_map<std::uint64_t, Showing> showings_;
};

/// A circuit and a meter: answers all questions of one build of the circuit after the
/// other. Refers to the builder, the conditions and the meter. One thread's.
class Worktable {
 public:
  /// `meant` is the builder's circuit; `for_pairs`: what faults show alone is kept with
  /// all that pairs can take from it; `witness` solves in place of the nodal one, where
  /// there is one.
  Worktable(const Circuit& meant, const Meter& meter,
            const std::vector<Condition>& conditions, const Builder& builder,
            Known& known, bool for_pairs, Solve witness = {});

  /// What a build shows in a condition. Without `with_spread` sigma is the meter's
  /// alone.
  const Showing& show(std::size_t condition, const BuildChange& change,
                      bool with_spread);
  /// What one shows that has both of two changes that are apart, without spread.
  const Showing& show(std::size_t condition, const BuildChange& one,
                      const BuildChange& other);

  /// The circuit as meant, with its spread.
  const std::vector<Shown>& as_meant(std::size_t condition);

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
    Tests tests;
    std::vector<Shown> shown;
  };
  /// A build in a condition.
  struct Posed {
    std::vector<const Piece*> pieces;  ///< Of each part, and of joints.
    const std::vector<double>* shares = nullptr;
    std::vector<Leak> leaks;        ///< With the power off.
    std::vector<Network> networks;  ///< One a phase.
    Rig* rig = nullptr;
  };
  /// Rigs that are kept, by what their structures are named.
  struct Rigs {
    std::unordered_map<std::uint64_t, std::unique_ptr<Rig>> rigs;
    std::size_t elements = 0;  ///< Of all of them.
  };

  void pose(std::size_t condition, const BuildChange* one, const BuildChange* other);
  /// `is_kept`: others will come with the same structure.
  Rig& rig_of(std::size_t condition, std::uint64_t structure, bool is_kept);
  Showing measure(std::size_t condition, const BuildChange* one,
                  const BuildChange* other, const Showing* of_one,
                  const Showing* of_other, bool with_spread);
  /// What each that is asked about comes to, over the phases.
  struct Sums {
    std::size_t draws = 0;  ///< 0: no scatter is asked for.
    std::vector<double> values;
    std::vector<Works> works;
    std::vector<Scatter> scatter;
  };
  /// One phase of what is measured under power.
  struct Turn {
    std::size_t condition;
    std::size_t phase;
    double share;
    Network& network;
    Sums& sums;
    /// The volts of each probe without a meter, and with meters everywhere.
    std::vector<std::pair<double, double>> loads = {};
    // Figures whose scatter is still to be worked out: their differentials, which of
    // what is asked they are of, and what they come to.
    std::vector<Differential> figures = {};
    std::vector<std::size_t> whose = {};
    std::vector<double> theirs = {};
  };
  /// Which nets feel a meter at all: one solution with meters everywhere tells.
  std::vector<bool> feel(Turn& turn, const Solution& plain);
  /// Takes the scatter of a figure from what is meant, or notes it for work_out.
  void put(Turn& turn, std::size_t k, double figure, Differential differential) const;
  void work_out(Turn& turn, const Solution& solution);
  /// Voltages of nets that feel a meter, each with the meter there. False where one has
  /// no solution.
  bool read_felt(Turn& turn, const Solution& plain, const std::vector<bool>& is_felt);
  /// All else under power, off the solution without meters.
  void read_others(Turn& turn, const Solution& plain, const std::vector<bool>& is_felt);
  /// What meter and eye are shown of it.
  void tell(std::size_t condition, Sums& sums, std::vector<Shown>& row);
  /// `of_one`, `of_other`: what the changes of a pair show alone.
  void measure_powered(std::size_t condition, const BuildChange* other,
                       const Showing* of_one, const Showing* of_other,
                       Showing& showing);
  /// Where a pair is likely to rest in a phase: where the fault does whose rest was
  /// harder to find, and within the other one's parts where that does.
  [[nodiscard]] std::optional<Solution> start_of(std::size_t condition,
                                                 std::size_t phase,
                                                 const BuildChange* other,
                                                 const Showing* of_one,
                                                 const Showing* of_other) const;
  void measure_unpowered(std::size_t condition, const BuildChange* one,
                         const BuildChange* other, const Showing* of_one,
                         const Showing* of_other, Showing& showing);
  /// What the meter's resistance range or diode test shows, at which voltages of the
  /// nodes (none where there is no solution), by which current.
  struct Tested {
    Shown shown;
    std::vector<double> volts;
    double amps = 0.0;
  };
  /// Nets that another part stands between than as meant, with the power off; each such
  /// part's.
  [[nodiscard]] std::vector<std::vector<int>> changed_places(
      std::size_t condition, const BuildChange& change) const;
  /// Whether a test of a build (null: as meant) leaves all of such nets at one voltage:
  /// then no part there carries anything, and another one would not either.
  [[nodiscard]] bool is_untouched(std::size_t condition, std::size_t asked,
                                  const Tests* build,
                                  const std::vector<std::vector<int>>& places) const;
  /// `number` is that of what is asked in its condition.
  Tested tested(std::size_t condition, std::size_t number, Network& network,
                const Solution* near, std::size_t phase);
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

  const Circuit& circuit_;
  const Meter& meter_;
  Solve witness_;
  const std::vector<Condition>& conditions_;
  const Builder& builder_;
  std::vector<std::unique_ptr<Rig>> kept_;  ///< Of the circuit as meant.
  /// Of builds: those used lately, and before.
  Rigs late_;
  Rigs before_;
  Rigs passing_;  ///< Of the build that is measured.
  std::vector<Nominal> nominal_;
  Known& known_;
  Posed posed_;  ///< What is measured now.
  bool for_pairs_ = false;
  bool is_first_ = true;
  bool with_spread_ = true;
};

}  // namespace benchproof
