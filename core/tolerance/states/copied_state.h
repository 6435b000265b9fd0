#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <vector>

#include "core/network/observation.h"
#include "core/nodal/batch.h"
#include "core/tolerance/copy/gauges.h"
#include "core/tolerance/copy/mover.h"
#include "core/tolerance/copy/spreads.h"
#include "core/verify/seen/at_rest.h"

namespace benchproof {

/// A state of which copies are to be measured: how far they are off, and what is
/// measured. Refers to all that it is made of; nothing in it changes.
class GaugedState {
 public:
  /// Whether a gauge is looked at, by its value as described.
  using IsWanted = std::function<bool(const Gauge& gauge, double nominal)>;

  /// `nominal` is what was seen of the posed state as it is described. All gauges are
  /// looked at, or those that are wanted.
  GaugedState(const PosedState& posed, const std::vector<Spread>& spreads,
              const SeenState& nominal, const IsWanted& is_wanted = {});

  [[nodiscard]] const PosedState& posed() const { return posed_; }
  [[nodiscard]] const std::vector<Spread>& spreads() const { return spreads_; }
  [[nodiscard]] const std::vector<Gauge>& gauges() const { return gauges_; }
  /// The values of the gauges as described.
  [[nodiscard]] const std::vector<double>& nominal() const { return nominal_; }

 private:
  const PosedState& posed_;
  const std::vector<Spread>& spreads_;
  std::vector<Gauge> gauges_;
  std::vector<double> nominal_;
};

/// A state of which many copies are to be measured: with what moves its networks.
class CopiedState : public GaugedState {
 public:
  CopiedState(const PosedState& posed, const std::vector<Spread>& spreads,
              const SeenState& nominal);

  [[nodiscard]] const std::vector<Mover>& movers() const { return movers_; }
  /// Whether a spread moves anything in this state.
  [[nodiscard]] bool is_moved_by(std::size_t spread) const;

  /// The networks of all phases with the spreads at these places.
  [[nodiscard]] std::vector<Network> networks(const double* places) const;

 private:
  std::vector<Mover> movers_;  ///< One a phase.
};

/// The draws that move something in a state, each with all of its spreads: these are at
/// one place in every copy.
[[nodiscard]] std::vector<std::vector<std::size_t>> draws_that_move(
    const CopiedState& state);

/// Measures many copies of a state; each thread has one of its own.
class Measurer {
 public:
  /// Puts the network of a phase, as posed or as it was put before, to what the k-th
  /// copy with its spreads at `places` has.
  using Put = std::function<void(std::size_t k, const double* places, std::size_t phase,
                                 Network& network)>;
  /// `known`, where given, has what the nodal solver finds of each phase as posed.
  Measurer(const GaugedState& state, Put put,
           const std::vector<const Solution*>& known = {});
  explicit Measurer(const CopiedState& state);
  Measurer(const Measurer&) = delete;
  Measurer& operator=(const Measurer&) = delete;

  /// Gives the places of the spreads of the k-th copy.
  using Places = std::function<void(std::size_t k, double* places)>;
  /// One copy that was measured.
  struct Copy {
    std::size_t index = 0;
    bool is_solved = true;
    const std::vector<double>& values;  ///< One a gauge; not numbers if not solved.
    const CheckInput& input;            ///< What was seen; holds until the next one.
    Measurer& measurer;

    /// One a gauge: past its limits. Found when it is asked for; holds as long.
    [[nodiscard]] const std::vector<bool>& failed() const {
      return measurer.find_failed(is_solved);
    }
  };
  using Look = std::function<void(const Copy&)>;
  /// Measures copies `first` to `first + count - 1`, in order.
  void measure(std::size_t first, std::size_t count, const Places& places,
               const Look& look);

  /// Of the networks so far.
  [[nodiscard]] BatchSolver::Counts counts() const;

 private:
  void measure_block(std::size_t first, std::size_t count, const Places& places,
                     const Look& look);
  void put_ambient(const double* places);
  const std::vector<bool>& find_failed(bool is_solved);
  void look_at(const double* places, std::size_t index, bool is_solved,
               const Look& look);

  const GaugedState& state_;
  Put put_;
  std::optional<Circuit> warmed_;  ///< Where copies differ by the ambient temperature.
  const Circuit& circuit_;         ///< At each copy's ambient temperature.
  std::vector<BatchSolver> solvers_;
  std::vector<double> shares_;
  /// [phase][copy of a block], of all phases but the last.
  std::vector<std::vector<Observation>> stored_;
  std::vector<std::vector<char>> solved_;  ///< The same.
  std::vector<Observation> seen_;          ///< One a phase.
  Observation average_;
  CheckInput input_;
  std::vector<double> places_;  ///< Of a block.
  std::vector<Gauge> gauges_;   ///< With each copy's limits.
  GaugeReader reader_;
  std::vector<bool> by_ambient_;  ///< Of each gauge whether its limits move with it.
  std::vector<double> values_;
  std::vector<bool> failed_;
};

/// A state at given places as a witness sees it. Nothing where it has no answer.
[[nodiscard]] std::optional<SeenState> seen_at(const CopiedState& state,
                                               const double* places,
                                               const Solve& witness);

/// What both witnesses see of a state's networks, one a phase.
struct SeenByBoth {
  bool is_solved = false;  ///< Else one of them has no answer, and the rest is empty.
  bool agrees = false;
  SeenState engine;
  SeenState nodal;
};
[[nodiscard]] SeenByBoth seen_by_both(const GaugedState& state,
                                      const std::vector<Network>& networks,
                                      const Solve& engine, const Solve& nodal);

/// The circuit with the ambient temperature that a copy has.
[[nodiscard]] Circuit circuit_at(const GaugedState& state, const double* places);

/// The values of all gauges as seen there.
[[nodiscard]] std::vector<double> values_at(const GaugedState& state,
                                            const double* places,
                                            const SeenState& seen);

}  // namespace benchproof
