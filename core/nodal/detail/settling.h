#pragma once

#include <limits>

#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"

namespace benchproof {

enum class Outcome { settled, unsettled, singular };

/// When Newton's method may stop. SI units.
struct Settling {
  /// An unknown is settled when its last step is at most relative * its size, plus
  /// `volts` for the voltage of a node, `amps` for the current of a branch.
  double relative = 0.0;
  double volts = 0.0;
  double amps = 0.0;
  /// A junction or transistor is settled when its current differs from what its tangent
  /// foretold by at most share * its current + floor. Ampere.
  double share = 1e-9;
  double floor = 1e-14;
  /// A regulator is settled when its own equation is off by at most this. Volt. Where
  /// the equation's slope is above 1 ohm, so many times more is allowed.
  double regulator = std::numeric_limits<double>::infinity();
  int iterations = 0;  ///< Steps from one start. At least 1.
};

/// Whether a step that is `most` times what it may be is what rounding leaves over, after
/// one that was `before` times: it is small, and no smaller.
template <class Number>
[[nodiscard]] auto is_jitter(const Number& most, const Number& before) {
  return most <= 1e4 && most >= 0.9 * before;
}

[[nodiscard]] inline Settling settling_at_rest(const NodalOptions& options) {
  Settling s;
  s.relative = options.relative;
  s.volts = options.volts;
  s.amps = options.amps;
  // Where its voltages are high a regulator may rest while it is still on its way.
  s.regulator = 0.01 * kResidualVolts;
  s.iterations = options.iterations;
  return s;
}

}  // namespace benchproof
