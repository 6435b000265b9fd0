// How fast the error of a waveform falls with the step: as the method's order says.
// Nodal witness; the laws are from calculus.

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <vector>

#include "core/nodal/tableau.h"
#include "core/nodal/transient.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using test::HandNetwork;

/// Backward Euler, with the trapezoidal rule to compare: a first-order method.
Tableau backward_euler() {
  Tableau t;
  t.stages = 2;
  t.error_order = 2;
  t.c = {0.0, 1.0};
  t.a[1] = {0.0, 1.0};
  t.embedded = {0.5, 0.5};
  return t;
}

/// A series circuit of 20 ohm, 1 mH and 1 uF that rings, started with 1 V on the
/// capacitor and no current; 3 is a net that only a divider holds.
struct Ringing {
  static constexpr double kOhms = 20.0;
  static constexpr double kHenries = 1e-3;
  static constexpr double kFarads = 1e-6;
  static constexpr double kSpan = 0.4e-3;

  static Timeline timeline() {
    HandNetwork hand(4);
    hand.capacitor(1, 0, kFarads);
    hand.inductor(1, 2, kHenries);
    // 20 ohm in all: 15 and 5.
    hand.resistor(2, 3, 15.0);
    hand.resistor(3, 0, 5.0);
    Timeline t;
    t.network = hand.network();
    t.span = kSpan;
    t.from_rest = false;
    t.capacitor_volts = {1.0};
    t.inductor_amps = {0.0};
    return t;
  }
  /// L C v'' + R C v' + v = 0 [calculus].
  static double volts(double t) {
    const double a = kOhms / (2.0 * kHenries);
    const double w = std::sqrt(1.0 / (kHenries * kFarads) - a * a);
    return std::exp(-a * t) * (std::cos(w * t) + a / w * std::sin(w * t));
  }
  /// i = -C v', through 5 of the 20 ohm.
  static double divided(double t) {
    const double a = kOhms / (2.0 * kHenries);
    const double w = std::sqrt(1.0 / (kHenries * kFarads) - a * a);
    return 5.0 * kFarads * std::exp(-a * t) * (w + a * a / w) * std::sin(w * t);
  }
};

/// Steps of equal length: tolerances that never bind.
TransientOptions equal_steps(const Tableau& method, int steps) {
  TransientOptions o;
  o.relative = 1e6;
  o.volts = 1e6;
  o.amps = 1e6;
  o.bend = 1e6;
  o.longest = 1.0 / steps;
  o.method = method;
  return o;
}

/// Largest errors of nodes 1 and 3, at the steps' ends or at times between them.
struct Errors {
  double held = 0.0;
  double divided = 0.0;
  std::size_t points = 0;
};

Errors errors(const TransientOptions& options, bool between) {
  std::vector<double> times;
  if (between) {
    for (int k = 0; k < 400; ++k) {
      times.push_back(Ringing::kSpan * (0.05 + 0.9 * (k + 0.37) / 400));
    }
  }
  const Waveform w = solve_nodal(Ringing::timeline(), times, options);
  UNSCOPED_INFO(w.reason);
  REQUIRE(w.status == SolveStatus::solved);
  Errors e;
  e.points = w.seconds.size();
  std::size_t next = 0;
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    const double s = w.seconds[k];
    if (between) {
      if (next == times.size() || s != times[next]) continue;
      ++next;
    }
    e.held = std::max(e.held, std::abs(w.row(k)[1] - Ringing::volts(s)));
    e.divided = std::max(e.divided, std::abs(w.row(k)[3] - Ringing::divided(s)));
  }
  if (between) REQUIRE(next == times.size());
  return e;
}

/// Order measured from one halving of the step to the next, the less of both nets.
double order(const Tableau& method, int steps, bool between) {
  const Errors coarse = errors(equal_steps(method, steps), between);
  const Errors fine = errors(equal_steps(method, 2 * steps), between);
  return std::log2(std::min(coarse.held / fine.held, coarse.divided / fine.divided));
}

}  // namespace

// A method of order p has errors of h^p and a part of h^(p+1) beside it: at these steps
// (a period is 200 us, half the span) the measured order is within a quarter of it.
TEST_CASE("the error falls with the fourth power of the step",
          "[truth][transient][order]") {
  const int steps = GENERATE(50, 100, 200);
  const bool between = GENERATE(false, true);
  CAPTURE(steps, between);
  CHECK(order(esdirk4(), steps, between) > 3.75);
}

TEST_CASE("lower methods fail the test of the fourth order",
          "[truth][transient][order]") {
  const int steps = GENERATE(100, 200);
  CAPTURE(steps);
  const double euler = order(backward_euler(), steps, false);
  CHECK(euler > 0.75);
  CHECK(euler < 1.25);
  const double second = order(tr_bdf2(), steps, false);
  CHECK(second > 1.75);
  CHECK(second < 2.25);
}

// The error of a step is kept at the tolerance and goes with the step's fourth power,
// so that the sum of all goes with the tolerance, and the number of steps with its
// fourth root.
TEST_CASE("the error follows the tolerance", "[truth][transient][order]") {
  const auto at = [](const Tableau& method, double relative, bool between) {
    TransientOptions o;
    o.relative = relative;
    o.volts = relative;
    o.amps = 0.03 * relative;  // 1 V over the circuit's 32 ohm.
    o.longest = 1.0;
    o.method = method;
    return errors(o, between);
  };
  const bool between = GENERATE(false, true);
  CAPTURE(between);
  for (const double relative : {1e-5, 1e-6, 1e-7}) {
    CAPTURE(relative);
    const Errors coarse = at(esdirk4(), relative, between);
    const Errors fine = at(esdirk4(), 1e-2 * relative, between);
    // 100 is expected; a step's size is not free (growth, the span's end).
    CHECK(coarse.held / fine.held > 30.0);
    CHECK(coarse.divided / fine.divided > 30.0);
    CHECK(fine.held < 30.0 * 1e-2 * relative);
  }
  // Backward Euler needs ten times the steps for a hundredth of the tolerance, and its
  // error falls by ten only.
  const Errors coarse = at(backward_euler(), 1e-4, between);
  const Errors fine = at(backward_euler(), 1e-6, between);
  CHECK(coarse.held / fine.held < 30.0);
}

}  // namespace benchproof
