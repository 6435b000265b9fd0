#pragma once

#include <cmath>
#include <limits>
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

/// Where the breakdown branch must start so that the junction carries `ibv` at `bv`:
/// the x with ibv = is (exp((bv - x)/nvt_breakdown) - 1 + x/vt), by fixed-point
/// iteration as the engine does it [manual, algorithm 7.1].
template <class Number>
[[nodiscard]] Number breakdown_start(Number bv, Number ibv, Number is, Number vt,
                                     Number nvt_breakdown) {
  using std::abs;
  using std::exp;
  using std::log;
  using std::log1p;
  if (ibv < is * bv / vt) return bv;
  Number x = bv - nvt_breakdown * log1p(ibv / is);
  for (int i = 0; i < 25; ++i) {
    const Number inner = ibv / is + 1.0 - x / vt;
    if (!(inner > 0.0)) break;
    x = bv - nvt_breakdown * log(inner);
    const Number carried = is * (exp((bv - x) / nvt_breakdown) - 1.0 + x / vt);
    if (abs(carried - ibv) <= 1e-13 * ibv) break;
  }
  return x;
}

template <class Number>
[[nodiscard]] DiodeAtOf<Number> at(const DiodeModelOf<Number>& model,
                                   std::type_identity_t<Number> celsius) {
  using std::isfinite;
  using std::log;
  const Number vt = thermal_voltage<Number>(celsius);
  const Number ratio = (celsius + kZeroCelsius) / (model.tnom + kZeroCelsius);
  DiodeAtOf<Number> d;
  d.nvt = model.n * vt;
  d.nvt_breakdown = model.nbv * vt;
  d.rs = model.rs;
  d.is = model.is;
  if (ratio != 1.0) {
    d.is = moved_saturation<Number>(
        model.is, (ratio - 1.0) * model.eg / d.nvt + model.xti / model.n * log(ratio));
  }
  d.breakdown = isfinite(model.bv)
                    ? breakdown_start(model.bv, model.ibv, d.is, vt, d.nvt_breakdown)
                    : Number(std::numeric_limits<double>::infinity());
  d.critical = critical_volts(d.is, d.nvt);
  return d;
}

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

/// What a diode carries as `conduct` has it, at one voltage after the other: where they
/// are close together the last one is near the answer. Which one that was changes the
/// answer by rounding only.
class Conductor {
 public:
  /// The diode must live as long as this.
  explicit Conductor(const DiodeAt& diode) : diode_(&diode) {}
  [[nodiscard]] double amps(double volts);

 private:
  double keep(double volts, const Conduction& here);

  const DiodeAt* diode_;
  double volts_ = 0.0;  ///< Of the last answer, with what follows.
  double amps_ = 0.0;
  double siemens_ = 0.0;
};

}  // namespace benchproof
