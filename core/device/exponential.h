#pragma once

#include <algorithm>
#include <cmath>

#include "core/device/conduction.h"

namespace benchproof {

/// Largest voltage that the equations look at. Volt.
inline constexpr double kLargestVolts = 1e30;

/// The largest exponent taken as it is; e^300 of the smallest saturation current is
/// still more than any current of a real circuit.
inline constexpr double kLargestExponent = 300.0;

/// A saturation current moved by e^`exponent`, kept where the equations stay finite. A
/// model that leaves this range with temperature stands for no junction: beyond it, it
/// conducts or blocks whatever a circuit may do. Ampere.
template <class Number>
[[nodiscard]] Number moved_saturation(Number is, Number exponent) {
  using std::exp;
  return bounded<Number>(is * exp(exponent), 1e-100, 1e30);
}

/// Where a junction bends most: its voltage at nvt / sqrt(2) ampere of current over
/// `is`, but at least `nvt`, so that limiting a step from there stays on the forward
/// side. Volt.
template <class Number>
[[nodiscard]] Number critical_volts(Number is, Number nvt) {
  using std::log;
  const Number bend = log(nvt / (std::sqrt(2.0) * is));
  return nvt * std::max(Number(1.0), bend);
}

/// exp(x) as amps and d/dx as siemens, going on as the tangent above kLargestExponent.
template <class Number>
[[nodiscard]] ConductionOf<Number> bounded_exp(Number x) {
  using std::exp;
  return either(
      x <= kLargestExponent,
      [&]() -> ConductionOf<Number> {
        const Number e = exp(x);
        return {e, e};
      },
      [&]() -> ConductionOf<Number> {
        const double e = std::exp(kLargestExponent);
        return {e * (1.0 + x - kLargestExponent), Number(e)};
      });
}

/// Forward and reverse law of a junction without breakdown and without leak; `is` in
/// ampere, `nvt` in volt. See `junction`.
template <class Number>
[[nodiscard]] ConductionOf<Number> junction_law(Number is, Number nvt, Number volts) {
  return either(
      volts >= -3.0 * nvt,
      [&]() -> ConductionOf<Number> {
        const ConductionOf<Number> e = bounded_exp(volts / nvt);
        return {is * (e.amps - 1.0), is * e.siemens / nvt};
      },
      [&]() -> ConductionOf<Number> {
        const Number ratio = 3.0 * nvt / (volts * 2.718281828459045);
        const Number cube = ratio * ratio * ratio;
        return {-is * (1.0 + cube), 3.0 * is * cube / volts};
      });
}

}  // namespace benchproof
