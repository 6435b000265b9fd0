// How Newton's method is led to an answer that it does not find by itself.

#include <algorithm>
#include <cmath>

#include "core/nodal/detail/newton.h"

namespace benchproof {

Outcome Newton::step_gmin(const Settling& settling, int steps) {
  start_cold();
  Memory good = memory_;
  double from = 1.0;
  double decades = 1.0;
  Outcome outcome = run(settling, from, 1.0);
  if (outcome != Outcome::settled) return outcome;
  good = memory_;
  for (int step = 0; step < steps; ++step) {
    const double to = from * std::pow(10.0, -decades);
    outcome = run(settling, to, 1.0);
    if (outcome == Outcome::settled) {
      good = memory_;
      if (to < 1e-14) return run(settling, 0.0, 1.0);
      from = to;
      decades = std::min(2.0, decades * 1.5);
    } else {
      restore(good);
      decades *= 0.3;
      if (decades < 1e-4) return outcome;
    }
  }
  return Outcome::unsettled;
}

Outcome Newton::step_sources(const Settling& settling, int steps) {
  start_cold();
  Outcome outcome = run(settling, 0.0, 0.0);
  if (outcome != Outcome::settled) return outcome;
  Memory good = memory_;
  double at = 0.0;
  double stride = 0.1;
  for (int step = 0; step < steps; ++step) {
    const double to = std::min(1.0, at + stride);
    outcome = run(settling, 0.0, to);
    if (outcome == Outcome::settled) {
      if (to == 1.0) return outcome;
      good = memory_;
      at = to;
      stride *= 1.5;
    } else {
      restore(good);
      stride *= 0.3;
      if (stride < 1e-6) return outcome;
    }
  }
  return Outcome::unsettled;
}

Outcome Newton::relax(const Settling& settling, int steps) {
  // As a small capacitor at every node would do it: the voltages drift, in implicit
  // steps that grow as long as each of them settles.
  Memory good = memory_;
  is_anchored_ = true;
  double siemens = 1.0;
  Outcome outcome = Outcome::unsettled;
  for (int step = 0; step < steps && siemens < 1e9; ++step) {
    std::copy_n(good.x.begin(), layout_.nodes, anchor_.begin());
    outcome = run(settling, siemens);
    if (outcome == Outcome::settled) {
      good = memory_;
      if (siemens < 1e-12) break;
      siemens *= 0.3;
    } else {
      restore(good);
      siemens *= 5.0;
    }
  }
  is_anchored_ = false;
  return outcome == Outcome::settled ? run(settling) : outcome;
}

}  // namespace benchproof
