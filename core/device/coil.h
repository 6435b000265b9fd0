#pragma once

#include "core/catalogue/model.h"

namespace benchproof {

/// A coil as one branch between its ends, its inner node eliminated. Of the current i
/// through the inductance and the voltage v across the whole coil:
///
///   (henries / share) di/dt = v - ohms i
///   current from end to end = siemens v + share i
///
/// from v_L = L di/dt, v = v_L + R (i + G v_L) and the current i + G v_L, with the
/// winding's resistance R and the core's loss G beside the inductance L: share = 1 / (1
/// + R G), siemens = G share. Derived here from Kirchhoff's laws.
template <class Number>
struct CoilAtOf {
  Number henries{};  ///< Henry.
  Number ohms{};     ///< Ohm.
  Number siemens{};
  Number share{1.0};

  /// The current from end to end. Ampere.
  [[nodiscard]] Number terminal_amps(Number volts, Number inductance_amps) const {
    return siemens * volts + share * inductance_amps;
  }
  /// How fast the current through the inductance rises. Ampere per second.
  [[nodiscard]] Number rate(Number volts, Number inductance_amps) const {
    return share * (volts - ohms * inductance_amps) / henries;
  }
};
using CoilAt = CoilAtOf<double>;

template <class Number>
[[nodiscard]] CoilAtOf<Number> at(const CoilModelOf<Number>& m) {
  const Number share = 1.0 / (1.0 + m.ohms * m.siemens);
  return {m.henries, m.ohms, m.siemens * share, share};
}

}  // namespace benchproof
