#include "core/device/diode.h"

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

/// A step of Newton's method leaves step^2 / (2 nvt): one this small is the last. Volt.
double last_step_of(const DiodeAt& diode) {
  return 1e-8 * std::min(diode.nvt, diode.nvt_breakdown);
}

Conduction behind_resistance(const DiodeAt& diode, const Conduction& junction) {
  return {junction.amps, junction.siemens / (1.0 + diode.rs * junction.siemens)};
}

}  // namespace

Conduction conduct(const DiodeAt& diode, double volts) {
  if (diode.rs == 0.0) return junction(diode, volts);
  const double v = std::clamp(volts, -kLargestVolts, kLargestVolts);
  // The junction voltage lies between 0 and the terminal voltage, and no further out
  // than where the junction alone would carry |v| / rs. u + rs i(u) - v rises with u:
  // Newton from the outer end, kept inside a bracket that shrinks.
  double low = std::min(v, 0.0);
  double high = std::max(v, 0.0);
  const double most = std::abs(v) / diode.rs / diode.is;
  if (v > 0.0) high = std::min(v, diode.nvt * std::log1p(most));
  const double knee = -3.0 * diode.nvt;
  if (v < knee && std::isfinite(diode.breakdown)) {
    low = std::clamp(-(diode.breakdown + diode.nvt_breakdown * std::log(most)), v,
                     std::max(v, std::min(knee, -diode.breakdown)));
  }
  const double last_step = last_step_of(diode);
  double u = v > 0.0 ? high : low;
  Conduction c = junction(diode, u);
  for (int i = 0; i < 400; ++i) {
    const double excess = u + diode.rs * c.amps - v;
    // Nothing flows that the step would change by more than rounding.
    if (diode.rs * c.siemens <= 1e-12 && std::abs(excess) <= last_step) break;
    (excess > 0.0 ? high : low) = u;
    double next = u - excess / (1.0 + diode.rs * c.siemens);
    const bool is_newton = next > low && next < high;
    if (!is_newton) next = 0.5 * (low + high);
    if (next == u) break;
    const bool is_last = is_newton && std::abs(next - u) <= last_step;
    u = next;
    c = junction(diode, u);
    if (is_last) break;
  }
  return behind_resistance(diode, c);
}

double Conductor::amps(double volts) {
  if (diode_->rs == 0.0) return junction(*diode_, volts).amps;
  constexpr int kFew = 3;
  const double last_step = last_step_of(*diode_);
  double u = volts - diode_->rs * amps_ - diode_->rs * siemens_ * (volts - volts_);
  for (int i = 0; i < kFew; ++i) {
    const Conduction c = junction(*diode_, u);
    const double step =
        (u + diode_->rs * c.amps - volts) / (1.0 + diode_->rs * c.siemens);
    if (std::abs(step) <= last_step)
      return keep(volts,
                  behind_resistance(*diode_, {c.amps - c.siemens * step, c.siemens}));
    u -= step;
  }
  return keep(volts, conduct(*diode_, volts));
}

double Conductor::keep(double volts, const Conduction& here) {
  volts_ = volts;
  amps_ = here.amps;
  siemens_ = here.siemens;
  return amps_;
}

}  // namespace benchproof
