#pragma once

#include <algorithm>
#include <cmath>

#include "core/device/diode.h"

namespace benchproof {

/// Largest voltage that the equations look at. Volt.
inline constexpr double kLargestVolts = 1e30;

/// The largest exponent taken as it is; e^80 of the smallest saturation current is
/// still more than any current of a real circuit.
inline constexpr double kLargestExponent = 80.0;

/// exp(x) as amps and d/dx as siemens, going on as the tangent above kLargestExponent.
[[nodiscard]] inline Conduction bounded_exp(double x) {
  if (x <= kLargestExponent) {
    const double e = std::exp(x);
    return {e, e};
  }
  const double e = std::exp(kLargestExponent);
  return {e * (1.0 + x - kLargestExponent), e};
}

/// Forward and reverse law of a junction without breakdown and without leak; `is` in
/// ampere, `nvt` in volt. See `junction`.
[[nodiscard]] inline Conduction junction_law(double is, double nvt, double volts) {
  if (volts >= -3.0 * nvt) {
    const Conduction e = bounded_exp(volts / nvt);
    return {is * (e.amps - 1.0), is * e.siemens / nvt};
  }
  const double ratio = 3.0 * nvt / (volts * 2.718281828459045);
  const double cube = ratio * ratio * ratio;
  return {-is * (1.0 + cube), 3.0 * is * cube / volts};
}

}  // namespace benchproof
