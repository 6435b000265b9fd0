#pragma once

#include <cmath>

#include "core/device/diode.h"

namespace benchproof {

/// A junction that conducts at more than so many emission voltages is an exponential.
inline constexpr double kForward = 5.0;
/// A current that falls below this share of what it was counts more than the voltage.
inline constexpr double kFall = 0.5;

/// Limits a junction's step on the exponential: forward of the bend it may grow only as
/// fast as its current would by the last slope [Nagel 1975, sec. 5.4]. A current that
/// falls steeply is followed instead of the voltage, which comes down by no more than
/// an emission voltage in each step of its own [W. J. McCalla, "Fundamentals of
/// Computer-Aided Circuit Simulation", 1988, on current iteration; from memory].
/// `limited` holds where the step was not taken as it is.
template <class Number, class Mask>
[[nodiscard]] Number limit_junction(Number next, Number last, Number nvt,
                                    Number critical, Mask& limited) {
  using std::abs;
  using std::log;
  const Number step = next - last;
  const auto falls =
      step < (kFall - 1.0) * nvt && step > -nvt && last > kForward * nvt;
  const auto within = !falls && (next <= critical || abs(step) <= 2.0 * nvt);
  limited = limited || !within;
  return either(
      within, [&] { return next; },
      [&] {
        const Number arg = 1.0 + step / nvt;
        return either(
            last > 0.0,
            [&] {
              return either(
                  arg > 0.0, [&]() -> Number { return last + nvt * log(arg); },
                  [&] { return critical; });
            },
            [&]() -> Number { return nvt * log(next / nvt); });
      });
}

/// Limits a diode's step: on the forward side as any junction's, and in breakdown,
/// which is as steep, as that of the mirrored junction.
template <class Number, class Mask>
[[nodiscard]] Number limit_diode(const DiodeAtOf<Number>& d, Number next, Number last,
                                 Mask& limited) {
  const Number start = 10.0 * d.nvt_breakdown - d.breakdown;
  const auto is_broken_down = next < 0.0 && next < start;
  // Lanes may run both branches: each counts where it is meant.
  return either(
      is_broken_down,
      [&]() -> Number {
        Mask cut = Number(1.0) < 0.0;
        const Number mirrored =
            limit_junction<Number>(-(next + d.breakdown), -(last + d.breakdown),
                                   d.nvt_breakdown, d.critical, cut);
        limited = limited || (is_broken_down && cut);
        return -(mirrored + d.breakdown);
      },
      [&]() -> Number {
        Mask cut = Number(1.0) < 0.0;
        const Number plain = limit_junction(next, last, d.nvt, d.critical, cut);
        limited = limited || (!is_broken_down && cut);
        return plain;
      });
}

/// A square law has no cliff; only wild steps are cut.
template <class Number, class Mask>
[[nodiscard]] Number limit_step(Number next, Number last, Mask& limited) {
  using std::abs;
  const Number most = 2.0 + 0.5 * abs(last);
  const auto within = abs(next - last) <= most;
  limited = limited || !within;
  return select(within, next, select(next > last, last + most, last - most));
}

}  // namespace benchproof
