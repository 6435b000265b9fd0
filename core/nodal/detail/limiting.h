#pragma once

#include <algorithm>
#include <cmath>

#include "core/device/diode.h"

namespace benchproof {

/// Limits a junction's step on the exponential: forward of the bend it may grow only as
/// fast as its current would by the last slope [Nagel 1975, sec. 5.4].
[[nodiscard]] inline double limit_junction(double next, double last, double nvt,
                                           double critical, bool& limited) {
  if (next <= critical || std::abs(next - last) <= 2.0 * nvt) return next;
  limited = true;
  if (last > 0.0) {
    const double arg = 1.0 + (next - last) / nvt;
    return arg > 0.0 ? last + nvt * std::log(arg) : critical;
  }
  return nvt * std::log(next / nvt);
}

/// Limits a diode's step: on the forward side as any junction's, and in breakdown,
/// which is as steep, as that of the mirrored junction.
[[nodiscard]] inline double limit_diode(const DiodeAt& d, double next, double last,
                                        bool& limited) {
  if (next < std::min(0.0, -d.breakdown + 10.0 * d.nvt_breakdown)) {
    const double mirrored = limit_junction(-(next + d.breakdown), -(last + d.breakdown),
                                           d.nvt_breakdown, d.critical, limited);
    return -(mirrored + d.breakdown);
  }
  return limit_junction(next, last, d.nvt, d.critical, limited);
}

/// A square law has no cliff; only wild steps are cut.
[[nodiscard]] inline double limit_step(double next, double last, bool& limited) {
  const double most = 2.0 + 0.5 * std::abs(last);
  if (std::abs(next - last) <= most) return next;
  limited = true;
  return last + std::copysign(most, next - last);
}

}  // namespace benchproof
