#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "core/network/differential.h"
#include "core/network/network.h"
#include "core/network/plan.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/sensitivities.h"

namespace benchproof {

/// Where a meter's leads are put: two nets.
struct Probe {
  int a = 0;
  int b = 0;
  friend bool operator==(const Probe&, const Probe&) = default;
};

/// What every node has to ground, so that none is without a voltage: more than anything
/// that is built, and what a meter loads it with outdoes it by far. Ohm.
inline constexpr double kStrayOhms = 1e11;
/// A meter that is not there. Ohm.
inline constexpr double kNoMeterOhms = 1e13;

/// A plan, and where the nodes inside each part begin and end.
struct PiecePlan {
  Plan plan;
  std::vector<std::pair<int, int>> inner;
};

/// A circuit's structure with a meter at each of some places: a resistance, and a
/// current source beside it (which with it is a source behind a resistance). It solves
/// any number of networks of that structure.
class Rig {
 public:
  /// `witness` solves in place of the nodal one, where there is one.
  Rig(PiecePlan plan, const std::vector<Probe>& probes, NodalOptions options = {},
      Solve witness = {});

  /// The plan without meters.
  [[nodiscard]] const Plan& plan() const { return plan_->plan; }
  [[nodiscard]] const std::shared_ptr<const PiecePlan>& piece_plan() const {
    return plan_;
  }

  /// How many elements it has, meters and strays included.
  [[nodiscard]] std::size_t elements() const {
    return structure_->resistors.size() + structure_->current_sources.size() +
           structure_->diodes.size();
  }

  /// Makes a network of one that has the values of the plan's elements only: no meter
  /// is there.
  void finish(Network& network, double celsius) const;

  /// Puts another resistance in place of what a node has to ground.
  void put_stray(Network& network, int node, double ohms) const;

  /// Puts a meter there: what it has between its leads, and what it drives from the
  /// second through the circuit to the first.
  void put_meter(Network& network, std::size_t probe, double ohms,
                 double amps = 0.0) const;
  void take_meter(Network& network, std::size_t probe) const {
    put_meter(network, probe, kNoMeterOhms);
  }

  /// See NodalSolver.
  [[nodiscard]] Solution solve(const Network& network, const Solution* near) {
    return witness_ ? witness_(network) : solver_.operating_point(network, near);
  }

  /// The slopes of figures, see Sensitivities.
  [[nodiscard]] std::optional<Slopes> slopes(const Network& network,
                                             const Solution& solution,
                                             const std::vector<Differential>& figures);

  /// The voltage between a probe's leads, and its differential.
  [[nodiscard]] double volts(const Solution& solution, std::size_t probe) const;
  [[nodiscard]] const Differential& differential(std::size_t probe);
  /// That of the current into a part at a pin.
  [[nodiscard]] Differential differential_of(int part, int pin) const;

 private:
  std::shared_ptr<const PiecePlan> plan_;
  std::vector<Probe> probes_;
  std::shared_ptr<const Structure> structure_;  ///< With strays and meters.
  std::size_t first_stray_ = 0;
  std::size_t first_ohms_ = 0;  ///< Of the meters.
  std::size_t first_amps_ = 0;
  NodalSolver solver_;
  Solve witness_;
  std::optional<Sensitivities> sensitivities_;
  std::vector<std::optional<Differential>> differentials_;
};

}  // namespace benchproof
