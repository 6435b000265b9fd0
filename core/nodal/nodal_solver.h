#pragma once

#include <memory>

#include "core/network/network.h"

namespace benchproof {

/// When the Newton iteration may stop, and how far it may go. SI units.
struct NodalOptions {
  double relative = 1e-9;  ///< A node is settled when its last step is below
  double volts = 1e-12;    ///< volts + relative * |its voltage|; a branch current when
  double amps = 1e-13;     ///< it is below amps + relative * |it|. All > 0.
  int iterations = 150;    ///< Newton steps from one start. At least 1.
  int continuation = 200;  ///< Steps of gmin or source stepping. At least 1.
};

/// Solves networks of one structure by modified nodal analysis [Ho 1975].
///
/// Unknowns: the voltages of all nodes but ground, then the currents of voltage
/// sources, inductors and regulators. Pivots are chosen once and kept while they are
/// good; the same solver serves any number of values of the structure.
///
/// The operating point is found by Newton's method with junction-voltage limiting; if
/// that does not settle, by gmin stepping, then by source stepping [Nagel 1975].
///
/// - [Ho 1975]    C. Ho, A. Ruehli, P. Brennan, "The modified nodal approach to network
///                analysis", IEEE Trans. Circuits Syst. 22(6), 504-509.
/// - [Nagel 1975] L. Nagel, "SPICE2: A computer program to simulate semiconductor
///                circuits", memorandum ERL-M520, University of California, Berkeley.
class NodalSolver {
 public:
  /// @throws std::invalid_argument on a missing structure or options out of range.
  explicit NodalSolver(std::shared_ptr<const Structure> structure,
                       NodalOptions options = {});
  ~NodalSolver();
  NodalSolver(NodalSolver&&) noexcept;
  NodalSolver& operator=(NodalSolver&&) noexcept;

  /// The state at rest: capacitors open, inductors shorted. `near`, where given, is a
  /// solution of the same structure to start from. A circuit without a solution is a
  /// result, not an exception: read `status` and `reason`, which names the net that
  /// would not settle and what was tried.
  /// @throws std::invalid_argument if `network` is not of this solver's structure, its
  ///         values break the rules of check_network, or `near` is not of its size.
  [[nodiscard]] Solution operating_point(const Network& network,
                                         const Solution* near = nullptr);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// One network, one cold solution: NodalSolver made, used and dropped.
[[nodiscard]] Solution solve_nodal(const Network& network);

}  // namespace benchproof
