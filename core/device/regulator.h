#pragma once

#include <cmath>
#include <type_traits>

#include "core/catalogue/model.h"
#include "core/device/conduction.h"

namespace benchproof {

inline constexpr double kRegulatorStiff = 1e6;          ///< Ohm.
inline constexpr double kRegulatorBackAmps = 1e-6;      ///< Ampere.
inline constexpr double kRegulatorCurrentBend = 1e-10;  ///< Ampere.
inline constexpr double kRegulatorVoltageBend = 1e-3;   ///< Volt.
inline constexpr double kRegulatorWakeVolts = 0.5;      ///< Volt.
/// Largest voltage or current that the equations look at. Volt, ampere.
inline constexpr double kRegulatorLargest = 1e30;

/// A regulator model as the equations below use it. It does not move with temperature.
template <class Number>
struct RegulatorAtOf {
  Number sign{1.0};         ///< 1, or -1 for a negative regulator.
  Number output{};          ///< Volt.
  Number dropout{};         ///< Volt.
  Number limit{};           ///< Ampere.
  Number quiescent{};       ///< Ampere.
  Number resistance{};      ///< Ohm.
  Number line{};            ///< V/V.
  Number line_reference{};  ///< Volt.
  Number regulates{1.0};    ///< 1, or 0 where out follows in and current may flow back.
};
using RegulatorAt = RegulatorAtOf<double>;

template <class Number>
[[nodiscard]] RegulatorAtOf<Number> at(const RegulatorModelOf<Number>& m) {
  return {m.is_negative ? -1.0 : 1.0,
          m.output,
          m.dropout,
          m.limit,
          m.quiescent,
          m.resistance,
          m.line,
          m.line_reference,
          m.follows ? 0.0 : 1.0};
}

/// A smooth max(x, 0) and its derivative.
template <class Number>
struct SmoothOf {
  Number value{};
  Number slope{};
};

/// up(x) below, of bend w.
template <class Number>
[[nodiscard]] SmoothOf<Number> smooth_up(Number x, double w) {
  using std::sqrt;
  const Number root = sqrt(x * x + w * w);
  // For x < 0 the sum cancels; its conjugate does not.
  const Number value = either(
      x >= 0.0, [&]() -> Number { return 0.5 * (x + root); },
      [&]() -> Number { return 0.5 * w * w / (root - x); });
  return {value, value / root};
}

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
/// element turns into that resistance. Of one that follows its input target(u) = u, and
/// up(-i - back) is left out. In this form, with the current as an unknown, both
/// witnesses converge from any start, which a current as a function of three voltages
/// does not (its slope vanishes on both sides of a step a few microvolts wide).
///
/// A negative regulator is the mirror of it: the equation holds for common - in, common
/// - out and the current from out to in, and its error is turned back.
///
/// Besides, the quiescent current flows from in to common: quiescent * ramp(in -
/// common), where ramp rises smoothly from 0 to 1 over the first volt.
///
/// Own formula; no published equation claims more than the data-sheet figures put in.
template <class Number>
struct RegulatorEquationOf {
  Number error{};      ///< out - common - right side above. Volt.
  Number by_in{};      ///< d error / d (in - common)
  Number by_out{1.0};  ///< d error / d (out - common)
  Number by_amps{};    ///< d error / d i. Ohm.
};
using RegulatorEquation = RegulatorEquationOf<double>;

/// `in` and `out` are against common. Volt; `amps` from in to out.
template <class Number>
[[nodiscard]] RegulatorEquationOf<Number> pass(const RegulatorAtOf<Number>& m,
                                               std::type_identity_t<Number> in,
                                               std::type_identity_t<Number> out,
                                               std::type_identity_t<Number> amps) {
  using Smooth = SmoothOf<Number>;
  const Number u = bounded(m.sign * in, -kRegulatorLargest, kRegulatorLargest);
  const Number o = bounded(m.sign * out, -kRegulatorLargest, kRegulatorLargest);
  const Number i = bounded(m.sign * amps, -kRegulatorLargest, kRegulatorLargest);
  const Number set = m.output + m.line * (u - m.line_reference);
  const Number head = u - m.dropout;
  const Smooth excess = smooth_up<Number>(head - set, kRegulatorVoltageBend);
  const Number lower = head - excess.value;
  const Number lower_slope = 1.0 - excess.slope * (1.0 - m.line);
  const Smooth target = smooth_up<Number>(lower, kRegulatorVoltageBend);
  const Smooth over = smooth_up<Number>(i - m.limit, kRegulatorCurrentBend);
  const Smooth back = smooth_up<Number>(-i - kRegulatorBackAmps, kRegulatorCurrentBend);
  const Number r = m.regulates;
  RegulatorEquationOf<Number> e;
  e.error = m.sign * (o - (u + r * (target.value - u)) + m.resistance * i +
                      kRegulatorStiff * (over.value - r * back.value));
  e.by_in = -(1.0 + r * (target.slope * lower_slope - 1.0));
  e.by_amps = m.resistance + kRegulatorStiff * (over.slope + r * back.slope);
  return e;
}
[[nodiscard]] inline RegulatorEquation pass(const RegulatorModel& model, double in,
                                            double out, double amps) {
  return pass(at(model), in, out, amps);
}

/// The quiescent current, which leaves at the common pin, by in - common.
template <class Number>
[[nodiscard]] ConductionOf<Number> quiescent(const RegulatorAtOf<Number>& m,
                                             std::type_identity_t<Number> in) {
  using std::tanh;
  const Number u = bounded(in, -kRegulatorLargest, kRegulatorLargest);
  const Number t = tanh(u / kRegulatorWakeVolts);
  return {m.quiescent * t, m.quiescent / kRegulatorWakeVolts * (1.0 - t * t)};
}
[[nodiscard]] inline Conduction quiescent(const RegulatorModel& model, double in) {
  return quiescent(at(model), in);
}

}  // namespace benchproof
