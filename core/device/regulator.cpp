#include "core/device/regulator.h"

#include <algorithm>
#include <cmath>

namespace benchproof {
namespace {

struct Smooth {
  double value;
  double slope;
};

/// Smooth max(x, 0) of bend w.
Smooth up(double x, double w) {
  const double root = std::hypot(x, w);
  // For x < 0 the sum cancels; its conjugate does not.
  const double value = x >= 0.0 ? 0.5 * (x + root) : 0.5 * w * w / (root - x);
  return {value, value / root};
}

/// Largest voltage or current the equation looks at.
constexpr double kLargest = 1e30;

}  // namespace

RegulatorEquation pass(const RegulatorModel& m, double in, double out, double amps) {
  const double sign = m.is_negative ? -1.0 : 1.0;
  const double u = std::clamp(sign * in, -kLargest, kLargest);
  const double o = std::clamp(sign * out, -kLargest, kLargest);
  const double i = std::clamp(sign * amps, -kLargest, kLargest);
  const double set = m.output + m.line * (u - m.line_reference);
  const double head = u - m.dropout;
  const Smooth excess = up(head - set, kRegulatorVoltageBend);
  const double lower = head - excess.value;
  const double lower_slope = 1.0 - excess.slope * (1.0 - m.line);
  const Smooth target = up(lower, kRegulatorVoltageBend);
  const Smooth over = up(i - m.limit, kRegulatorCurrentBend);
  const Smooth back = up(-i - kRegulatorBackAmps, kRegulatorCurrentBend);
  RegulatorEquation e;
  e.error = sign * (o - target.value + m.resistance * i +
                    kRegulatorStiff * (over.value - back.value));
  e.by_in = -target.slope * lower_slope;
  e.by_amps = m.resistance + kRegulatorStiff * (over.slope + back.slope);
  return e;
}

QuiescentCurrent quiescent(const RegulatorModel& m, double in) {
  const double u = std::clamp(in, -kLargest, kLargest);
  const double t = std::tanh(u / kRegulatorWakeVolts);
  return {m.quiescent * t, m.quiescent / kRegulatorWakeVolts * (1.0 - t * t)};
}

}  // namespace benchproof
