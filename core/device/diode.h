#pragma once

#include <type_traits>

#include "core/catalogue/model.h"
#include "core/device/constants.h"
#include "core/device/exponential.h"

namespace benchproof {

/// A diode model moved to one temperature: what the equations below use.
///
/// Temperature rule [manual 7.3, verified against the engine to 1e-13]:
///   is(T) = is * exp((T/tnom - 1) * eg / (n vt) + xti/n * ln(T/tnom)), T in kelvin.
template <class Number>
struct DiodeAtOf {
  Number is{};             ///< Saturation current at this temperature. Ampere.
  Number nvt{};            ///< n kT/q. Volt.
  Number rs{};             ///< Ohm.
  Number breakdown{};      ///< Where breakdown starts, > 0 or infinite. Volt.
  Number nvt_breakdown{};  ///< nbv kT/q. Volt.
  Number critical{};       ///< Junction voltage of the sharpest bend. Volt.
};
using DiodeAt = DiodeAtOf<double>;

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
template <class Number>
[[nodiscard]] ConductionOf<Number> junction(const DiodeAtOf<Number>& diode,
                                            std::type_identity_t<Number> volts) {
  const Number v = bounded(volts, -kLargestVolts, kLargestVolts);
  const ConductionOf<Number> c = either(
      v > -diode.breakdown || v >= -3.0 * diode.nvt,
      [&] { return junction_law(diode.is, diode.nvt, v); },
      [&]() -> ConductionOf<Number> {
        const ConductionOf<Number> e =
            bounded_exp(-(diode.breakdown + v) / diode.nvt_breakdown);
        return {-diode.is * e.amps, diode.is * e.siemens / diode.nvt_breakdown};
      });
  return {c.amps + kJunctionLeak * v, c.siemens + kJunctionLeak};
}

/// The whole diode, series resistance included, at terminal voltage `volts`: solves
/// v = u + rs i(u) for the junction voltage u to rounding. Finite for any finite input.
[[nodiscard]] Conduction conduct(const DiodeAt& diode, double volts);

}  // namespace benchproof
