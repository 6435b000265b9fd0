#pragma once

#include "core/catalogue/model.h"

namespace benchproof {

/// A current and its derivative by the voltage that drives it.
struct Conduction {
  double amps = 0.0;
  double siemens = 0.0;
};

/// A diode model moved to one temperature: what the equations below use.
///
/// Temperature rule [manual 7.3, verified against the engine to 1e-13]:
///   is(T) = is * exp((T/tnom - 1) * eg / (n vt) + xti/n * ln(T/tnom)), T in kelvin.
struct DiodeAt {
  double is = 0.0;   ///< Saturation current at this temperature. Ampere.
  double nvt = 0.0;  ///< n kT/q. Volt.
  double rs = 0.0;   ///< Ohm.
  double breakdown =
      0.0;  ///< Where the breakdown branch starts, > 0 or infinite. Volt.
  double nvt_breakdown = 0.0;  ///< nbv kT/q. Volt.
  double critical = 0.0;       ///< Junction voltage of the sharpest bend. Volt.
};

[[nodiscard]] DiodeAt at(const DiodeModel& model, double celsius);

/// The junction alone, without series resistance, at junction voltage `volts`:
///
///   v >= -3 nvt:              i = is (exp(v/nvt) - 1)
///   -breakdown < v < -3 nvt:  i = -is (1 + (3 nvt / (e v))^3)
///   v <= -breakdown:          i = -is exp(-(breakdown + v) / nvt_breakdown)
///
/// each plus kJunctionLeak * v [ngspice manual 39, section 7.3, equation 7.1]. Finite
/// for any finite input: beyond 300 emission voltages (never reached by a solution) the
/// exponential goes on as its tangent, and |v| is taken as at most 1e30 V. The branches
/// meet to is (3 nvt / (e breakdown))^3, as they do in the engine; where fitting `ibv`
/// puts the start of breakdown above -3 nvt (steep models of low voltage) the current
/// steps there from -is to the breakdown branch.
[[nodiscard]] Conduction junction(const DiodeAt& diode, double volts);

/// The whole diode, series resistance included, at terminal voltage `volts`: solves
/// v = u + rs i(u) for the junction voltage u to rounding. Finite for any finite input.
[[nodiscard]] Conduction conduct(const DiodeAt& diode, double volts);

}  // namespace benchproof
