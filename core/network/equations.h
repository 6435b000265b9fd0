#pragma once

#include <vector>

#include "core/network/network.h"

namespace benchproof {

/// Every element's current at the node voltages `volts`, by the equations of
/// core/device/. Currents that voltages do not determine (voltage sources, inductors,
/// what a regulator passes) are taken from `branches`, whose other lists are not read.
[[nodiscard]] Currents currents_at(const Network& network,
                                   const std::vector<double>& volts,
                                   const Currents& branches);

/// The voltage source that alone feeds a diode's anode, or -1. Lowering makes such
/// pairs of a constant drop: an ideal source, an inner node, an ideal junction. What
/// the source carries tells the junction's current far better than its voltage does.
[[nodiscard]] int feeding_source(const Structure& structure, const TwoEnds& diode);

/// How far voltages and branch currents are from obeying the network's equations.
struct Residual {
  double amps = 0.0;   ///< Largest sum of currents at any node. Ampere.
  double worst = 0.0;  ///< Largest sum of currents over what is allowed at that node.
  /// `worst` of what is left of each sum once the rounding of the voltages is taken
  /// off: one last digit of 1.5 V across 20 uohm is 11 pA.
  double beyond_rounding = 0.0;
  /// The same with the most that rounding makes in any row of the matrix, of what
  /// junctions conduct besides. Elimination is backward stable of the matrix as a
  /// whole, not of each row [Higham 2002, sec. 9.3]: where its answer leaves no more
  /// than that, no matrix in doubles promises a better one.
  double beyond_matrix = 0.0;
  int node = 0;  ///< Where `worst` stands.
  /// Largest error of a source's, regulator's or ideal junction's own equation, over
  /// 1 V + the voltage that it is an error of.
  double volts = 0.0;
};

/// What may be left over at a node: 1 nA + 1e-6 of the largest current there, the same
/// figures as the agreement of two witnesses.
inline constexpr double kResidualAmps = 1e-9;
inline constexpr double kResidualShare = 1e-6;
/// What a source's or regulator's own equation may be off by: 1 uV + 1e-6 of its
/// voltage.
inline constexpr double kResidualVolts = 1e-6;

/// The residual of a solution (ideal junctions, see kLeastRealEmission, are held to
/// their voltage instead of their current): its voltages put into the element equations
/// and the currents summed at every node but ground.
[[nodiscard]] Residual residual(const Network& network, const Solution& solution);

/// Whether a solution with this residual obeys the network's equations: it leaves no
/// more than is allowed, or than a share of that.
[[nodiscard]] bool obeys(const Residual& residual, double share = 1.0);

/// Adds each element's current to `sum` at its nodes (current leaving the node into the
/// element is positive), and its size to `largest` as a maximum.
void sum_at_nodes(const Structure& structure, const Currents& currents,
                  std::vector<double>& sum, std::vector<double>& largest);

/// Looks for a structure's or its values' mistakes: lists of different lengths, a node
/// out of range, values that are not finite or out of their range.
/// @throws std::invalid_argument naming the element.
void check_network(const Network& network);

}  // namespace benchproof
