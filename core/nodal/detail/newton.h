#pragma once

#include <algorithm>
#include <memory>
#include <vector>

#include "core/network/network.h"
#include "core/nodal/detail/devices.h"
#include "core/nodal/detail/layout.h"
#include "core/nodal/detail/settling.h"

namespace benchproof {

/// Capacitors, inductors and strays while time passes. A charge (the volts of a
/// capacitor or stray, the amps through an inductance) is `base` + `seconds` * its
/// derivative at the step's end. So a capacitor acts as a resistance in series with a
/// voltage source, an inductance and a stray as a resistance beside a current source.
struct Companion {
  double seconds = 0.0;  ///< > 0.
  /// Volt, of capacitors; then ampere, of inductors; then volt, of strays.
  std::vector<double> base;
};

/// Newton's method with junction-voltage limiting [Nagel 1975, see NodalSolver] on the
/// nodal system of one structure, at rest or at one moment in time: what the operating
/// point and the transient share.
class Newton {
 public:
  Newton(std::shared_ptr<const Structure> structure, bool in_time);
  Newton(const Newton&) = delete;  // What it consists of refers to each other.
  Newton& operator=(const Newton&) = delete;

  /// Takes the network in, at rest. The network must live until the next bind.
  void bind(const Network& network);
  /// Takes values of resistors, capacitors and inductors in again.
  void bind_matrix(double companion_seconds);
  /// Takes values of sources and the companions' bases in again.
  void bind_right(const Companion& companion);

  /// Starts with every junction near its bend, every regulator regulating, and
  /// everything else at 0.
  void start_cold();
  void start_near(const Solution& near);
  /// Starts at a solution of the network itself, every junction where the voltages of
  /// the nodes put it: a solution's currents may be off by more than an ideal junction
  /// with a series resistance bears.
  void start_on(const Solution& solution);
  /// Starts from a state: unknowns, then what unknowns do not tell, the voltages inside
  /// of diodes and MOS transistors.
  void start_at(const std::vector<double>& state);
  /// Writes the state where the iteration stands.
  void copy_state(std::vector<double>& state) const;
  [[nodiscard]] std::size_t state_size() const {
    return memory_.x.size() + memory_.diodes.size() + 2 * memory_.mosfets.size();
  }

  /// Iterates from where it was started or stands. `scale` is a share of all sources,
  /// `gmin` a conductance at every node (siemens).
  [[nodiscard]] Outcome run(const Settling& settling, double gmin = 0.0,
                            double scale = 1.0);
  /// Drifts from where it stands, which need be no answer. Every node is tied to its
  /// voltage by a conductance that falls away step by step, so that a network whose
  /// answer has gone (a transistor pair about to flip) comes to the next one
  /// [pseudo-transient continuation; C. T. Kelley, D. E. Keyes, SIAM J. Numer. Anal. 35
  /// (1998) 508-523].
  [[nodiscard]] Outcome relax(const Settling& settling, int steps);
  /// Starts cold with a conductance to ground at every node and takes it away step by
  /// step.
  [[nodiscard]] Outcome step_gmin(const Settling& settling, int steps);
  /// Starts cold and raises all sources together from 0.
  [[nodiscard]] Outcome step_sources(const Settling& settling, int steps);

  void restore(const Memory& good);

  /// Whether a solution is of this structure, so that it can be started near.
  [[nodiscard]] bool fits(const Solution& near) const;

  /// The nodal system straightened where it stands: the matrix entries by slot.
  [[nodiscard]] const std::vector<double>& jacobian();
  [[nodiscard]] const Devices& devices() const { return devices_; }
  [[nodiscard]] Matrix& matrix() { return layout_.matrix; }

  /// Where it stands, as a solution. The currents of capacitors are 0.
  [[nodiscard]] Solution solution() const;
  /// A node, not ground, of a junction that carries more than 1 GA: it lies straight
  /// across a source, where the exponential has a mathematical answer and no other. -1
  /// where there is none.
  [[nodiscard]] int boundless_node() const;
  [[nodiscard]] const Memory& memory() const { return memory_; }
  [[nodiscard]] const Layout& layout() const { return layout_; }

  /// What a stray moves by in a step it moves by in at least this time, or the
  /// conductance that a step of nothing makes of it would cost all digits. Second.
  double least_stray_seconds = 0.0;
  [[nodiscard]] double stray_seconds(double seconds) const {
    return std::max(seconds, least_stray_seconds);
  }

  int iterations = 0;  ///< Counts up; the caller may set it.
  [[nodiscard]] int restless() const { return restless_; }  ///< Who moved most.

 private:
  void evaluate();
  void load_linear(double gmin, double scale);
  void load(double gmin, double scale);
  void load_left(double gmin, double scale, const std::vector<double>& x);
  [[nodiscard]] int solve(double gmin, double scale, bool corrects);
  void shorten(double share);
  [[nodiscard]] bool follow(const Settling& settling);
  [[nodiscard]] double excess(const Settling& settling);

  Layout layout_;
  const Structure& s_;
  const Values* values_ = nullptr;

  /// Stamps of straight elements, but for what is right of their equations.
  std::vector<PairStamp<double>> resistors_;
  std::vector<CoilStamp<double>> inductors_;
  std::vector<BranchStamp<double>> capacitors_;  ///< Of Layout::capacitors.
  std::vector<PairStamp<double>> strays_;        ///< In time.
  std::vector<double> linear_;        ///< Matrix entries that no step changes.
  std::vector<double> linear_right_;  ///< Right-hand side that no step changes.
  std::vector<double> work_;          ///< Matrix entries of this step.
  std::vector<double> right_;         ///< Right-hand side of this step, or of a
                                      ///< correction what the unknowns leave over.
  std::vector<double> next_;          ///< Unknowns that this step leads to.
  std::vector<double> start_;         ///< A solution from nothing, to step from.
  std::vector<double> anchor_;  ///< Voltages that `gmin` pulls to, if is_anchored_.
  bool is_anchored_ = false;

  Memory memory_;
  Devices devices_;
  int restless_ = 0;
};

}  // namespace benchproof
