#pragma once

#include "core/catalogue/model.h"

namespace benchproof {

/// The pass element of a series regulator, as one equation between its voltages and the
/// current i that it passes from in to out:
///
///   out - common = target(in - common) - resistance i
///                  - stiff (up(i - limit) - up(-i - back))
///   target(u) = up(low(set(u), u - dropout)),  set(u) = output + line (u -
///   line_reference)
///
/// where up(x) = (x + sqrt(x^2 + w^2)) / 2 is a smooth max(x, 0) (w = kCurrentBend for
/// currents, kVoltageBend for voltages), low(a, b) = b - up(b - a) a smooth minimum,
/// and stiff = 1 Mohm: past the current limit, and against current flowing back, the
/// element turns into that resistance. In this form, with the current as an unknown,
/// both witnesses converge from any start, which a current as a function of three
/// voltages does not (its slope vanishes on both sides of a step a few microvolts
/// wide).
///
/// A negative regulator is the mirror of it: the equation holds for common - in, common
/// - out and the current from out to in, and its error is turned back.
///
/// Besides, the quiescent current flows from in to common: quiescent * ramp(in -
/// common), where ramp rises smoothly from 0 to 1 over the first volt.
///
/// Own formula; no published equation claims more than the data-sheet figures put in.
struct RegulatorEquation {
  double error = 0.0;    ///< out - common - right side above. Volt.
  double by_in = 0.0;    ///< d error / d (in - common)
  double by_out = 1.0;   ///< d error / d (out - common)
  double by_amps = 0.0;  ///< d error / d i. Ohm.
};

inline constexpr double kRegulatorStiff = 1e6;          ///< Ohm.
inline constexpr double kRegulatorBackAmps = 1e-6;      ///< Ampere.
inline constexpr double kRegulatorCurrentBend = 1e-10;  ///< Ampere.
inline constexpr double kRegulatorVoltageBend = 1e-3;   ///< Volt.
inline constexpr double kRegulatorWakeVolts = 0.5;      ///< Volt.

/// `in` and `out` are against common. Volt; `amps` from in to out.
[[nodiscard]] RegulatorEquation pass(const RegulatorModel& model, double in, double out,
                                     double amps);

/// A current and its derivative by in - common: what leaves at the common pin.
struct QuiescentCurrent {
  double amps = 0.0;
  double siemens = 0.0;
};
[[nodiscard]] QuiescentCurrent quiescent(const RegulatorModel& model, double in);

}  // namespace benchproof
