// Waveforms that follow from calculus: charging and discharging, the three dampings of
// a resonant circuit, charges that even out. Nodal witness.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <vector>

#include "core/device/constants.h"
#include "core/network/timeline.h"
#include "core/nodal/transient.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

/// What the default options promise of waveforms: 1e-4 of the swing (TransientOptions).
constexpr double kPromise = 1e-4;

/// Tolerances a thousand times tighter than the default. The error of a stable linear
/// circuit at any time is at most the sum of the steps' errors, each below `relative`
/// of the value and most of them forgotten; a hundred steps' worth is allowed.
TransientOptions tight() {
  TransientOptions o;
  o.relative = 1e-8;
  o.volts = 1e-9;
  o.amps = 1e-11;
  return o;
}
constexpr double kTight = 1e-6;

Timeline timeline(const HandNetwork& hand, double span) {
  Timeline t;
  t.network = hand.network();
  t.span = span;
  return t;
}

/// The same with all charges given.
Timeline charged(const HandNetwork& hand, double span, std::vector<double> volts,
                 std::vector<double> amps = {}) {
  Timeline t = timeline(hand, span);
  t.from_rest = false;
  t.capacitor_volts = std::move(volts);
  t.inductor_amps = std::move(amps);
  return t;
}

std::vector<double> grid(double span, int points) {
  std::vector<double> times;
  for (int k = 0; k <= points; ++k) times.push_back(span * k / points);
  return times;
}

Waveform solved(const Timeline& t, const std::vector<double>& also_at = {},
                const TransientOptions& options = {}) {
  Waveform w = solve_nodal(t, also_at, options);
  UNSCOPED_INFO(w.reason);
  REQUIRE(w.status == SolveStatus::solved);
  REQUIRE(w.seconds.front() == 0.0);
  REQUIRE(w.seconds.back() == t.span);
  REQUIRE(std::is_sorted(w.seconds.begin(), w.seconds.end()));
  for (const double seconds : also_at) {
    REQUIRE(std::binary_search(w.seconds.begin(), w.seconds.end(), seconds));
  }
  return w;
}

using Law = std::function<double(double seconds)>;

/// The largest difference of a column and a law, at all rows from `after` on.
double worst(const Waveform& w, std::size_t column, const Law& law,
             double after = 0.0) {
  double most = 0.0;
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    if (w.seconds[k] < after) continue;
    const double error = std::abs(w.row(k)[column] - law(w.seconds[k]));
    if (!(error <= most)) most = error;
  }
  return most;
}

/// What a first-order circuit of that time constant makes of a ramp from 0 to `top` in
/// `rise`: of y' = (u - y)/tau [calculus].
double ramped(double seconds, double tau, double top, double rise) {
  const auto after_ramp = [&](double t) {
    return t <= 0.0 ? 0.0 : top / rise * (t + tau * std::expm1(-t / tau));
  };
  return after_ramp(seconds) - after_ramp(seconds - rise);
}

/// Charge of a capacitor of a series circuit of R, L, C on a step to `top` from rest:
/// the three solutions of L C v'' + R C v' + v = top [calculus].
double rung(double t, double ohms, double henries, double farads, double top) {
  const double a = ohms / (2.0 * henries);
  const double w2 = 1.0 / (henries * farads);
  const double d = a * a - w2;
  if (std::abs(d) < 1e-9 * w2) return top * (1.0 - std::exp(-a * t) * (1.0 + a * t));
  if (d < 0.0) {
    const double w = std::sqrt(-d);
    return top * (1.0 - std::exp(-a * t) * (std::cos(w * t) + a / w * std::sin(w * t)));
  }
  // The slower root in the form without cancelling.
  const double fast = a + std::sqrt(d);
  const double slow = w2 / fast;
  return top * (1.0 - (fast * std::exp(-slow * t) - slow * std::exp(-fast * t)) /
                          (fast - slow));
}

}  // namespace

TEST_CASE("a capacitor charges through a resistor as calculus has it",
          "[truth][transient][closed-form]") {
  const double rise = GENERATE(1e-6, 1e-3, 20e-3);
  const double tau = GENERATE(1e-5, 1e-3);
  const double span = 10e-3 + rise;
  CAPTURE(rise, tau);
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 1e3);
  hand.capacitor(2, 0, tau / 1e3);
  Timeline t = timeline(hand, span);
  t.volts = {{0, {{0.0, 0.0}, {rise, 5.0}}}};
  const Law volts = [&](double s) { return ramped(s, tau, 5.0, rise); };
  const Law amps = [&](double s) {
    return (std::min(s / rise, 1.0) * 5.0 - volts(s)) / 1e3;
  };
  const std::vector<double> times = grid(span, 777);

  const Waveform coarse = solved(t, times);
  CHECK(worst(coarse, 2, volts) <= 5.0 * kPromise);
  CHECK(worst(coarse, 3, amps) <= 5e-3 * kPromise);

  const Waveform fine = solved(t, times, tight());
  CHECK(worst(fine, 2, volts) <= 5.0 * kTight);
  // Row: nodes 0 to 2, the capacitor, the source.
  CHECK(worst(fine, 3, amps) <= 5e-3 * kTight);
  CHECK(worst(fine, 4, [&](double s) { return -amps(s); }) <= 5e-3 * kTight);
}

TEST_CASE("an inductor's current rises through a resistor as calculus has it",
          "[truth][transient][closed-form]") {
  const double rise = GENERATE(1e-6, 1e-3);
  const double tau = GENERATE(1e-5, 1e-3);
  const double span = 10e-3;
  CAPTURE(rise, tau);
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 50.0);
  hand.inductor(2, 0, 50.0 * tau);
  Timeline t = timeline(hand, span);
  t.volts = {{0, {{0.0, 0.0}, {rise, 5.0}}}};
  const Law amps = [&](double s) { return ramped(s, tau, 0.1, rise); };
  const Law volts = [&](double s) {
    return std::min(s / rise, 1.0) * 5.0 - 50.0 * amps(s);
  };
  const std::vector<double> times = grid(span, 777);
  CHECK(worst(solved(t, times), 3, amps) <= 0.1 * kPromise);
  const Waveform fine = solved(t, times, tight());
  CHECK(worst(fine, 3, amps) <= 0.1 * kTight);
  CHECK(worst(fine, 2, volts) <= 5.0 * kTight);
}

TEST_CASE("a resonant circuit steps in its three dampings",
          "[truth][transient][closed-form]") {
  // 1 mH and 1 uF ring at 31.6 krad/s; 63.2 ohm are critical.
  const double henries = 1e-3;
  const double farads = 1e-6;
  const double critical = 2.0 * std::sqrt(henries / farads);
  const double damping = GENERATE(0.05, 0.5, 1.0, 3.0, 50.0);
  const double ohms = damping * critical;
  const double span = 2e-3;
  CAPTURE(damping);
  HandNetwork hand(4);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, ohms);
  hand.inductor(2, 3, henries);
  hand.capacitor(3, 0, farads);
  const Timeline t = charged(hand, span, {0.0}, {0.0});
  const Law volts = [&](double s) { return rung(s, ohms, henries, farads, 5.0); };
  const std::vector<double> times = grid(span, 999);
  // It rings on: errors of several periods add up where little is forgotten.
  CHECK(worst(solved(t, times), 3, volts) <=
        5.0 * kPromise * std::max(1.0, 0.25 / damping));
  const Waveform fine = solved(t, times, tight());
  CHECK(worst(fine, 3, volts) <= 5.0 * kTight);
  // The capacitor's and the inductor's current are one.
  double most = 0.0;
  for (std::size_t k = 0; k < fine.seconds.size(); ++k) {
    most = std::max(most, std::abs(fine.row(k)[4] - fine.row(k)[5]));
  }
  CHECK(most <= 5.0 / critical * kTight);
}

// C u' = -is (exp(u/n) - 1) has w = 1 - exp(-u/n) fall as w' = -is/(n C) w [calculus];
// the leak of 1e-15 S beside the diode's 1e-9 A counts for less than 1e-6.
TEST_CASE("a capacitor discharges through a diode as calculus has it",
          "[truth][transient][closed-form]") {
  DiodeModel m;
  m.is = 1e-9;
  m.n = 1.8;
  const double farads = 1e-6;
  const double n = m.n * thermal_voltage(27.0);
  const double start = 0.7;
  const double span = GENERATE(1e-4, 1.0, 100.0);
  CAPTURE(span);
  HandNetwork hand(2);
  hand.diode(1, 0, m);
  hand.capacitor(1, 0, farads);
  const Timeline t = charged(hand, span, {start});
  const Law volts = [&](double s) {
    return -n * std::log1p(std::expm1(-start / n) * std::exp(-m.is / (n * farads) * s));
  };
  const std::vector<double> times = grid(span, 500);
  CHECK(worst(solved(t, times), 1, volts) <= start * kPromise);
  CHECK(worst(solved(t, times, tight()), 1, volts) <= start * kTight);
}

TEST_CASE("nanoseconds and minutes in one circuit", "[truth][transient][stiff]") {
  // 1 nF on 100 ohm: 0.1 us; 4700 uF on 100 ohm: 0.47 s; a span of 1 s.
  HandNetwork hand(4);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 100.0);
  hand.capacitor(2, 0, 1e-9);
  hand.resistor(1, 3, 100.0);
  hand.capacitor(3, 0, 4700e-6);
  Timeline t = timeline(hand, 1.0);
  const double rise = GENERATE(1e-6, 1e-3);
  t.volts = {{0, {{0.0, 0.0}, {rise, 5.0}}}};
  std::vector<double> times;
  for (double s = 1e-9; s < 1.0; s *= 1.03) times.push_back(s);
  const Law fast = [&](double s) { return ramped(s, 1e-7, 5.0, rise); };
  const Law slow = [&](double s) { return ramped(s, 0.47, 5.0, rise); };
  const Waveform coarse = solved(t, times);
  CHECK(worst(coarse, 2, fast) <= 5.0 * kPromise);
  CHECK(worst(coarse, 3, slow) <= 5.0 * kPromise);
  const Waveform fine = solved(t, times, tight());
  CHECK(worst(fine, 2, fast) <= 5.0 * kTight);
  CHECK(worst(fine, 3, slow) <= 5.0 * kTight);
  // An explicit method would need ten million steps.
  CHECK(solved(t).seconds.size() < 500);
}

TEST_CASE("the current of a capacitor straight across a source jumps with its slope",
          "[truth][transient][closed-form]") {
  const double farads = 10e-6;
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 1.0);
  hand.capacitor(1, 0, farads);
  hand.resistor(1, 2, 1e3);
  hand.capacitor(2, 0, 1e-6);
  Timeline t = timeline(hand, 4e-3);
  t.volts = {{0, {{1e-3, 1.0}, {2e-3, 6.0}, {3e-3, 6.0}, {3.5e-3, 0.0}}}};
  // Just before and after each corner, and between.
  const std::vector<double> times = {0.5e-3,   0.999e-3, 1.001e-3, 1.5e-3,   1.999e-3,
                                     2.001e-3, 2.5e-3,   2.999e-3, 3.001e-3, 3.25e-3,
                                     3.499e-3, 3.501e-3, 3.75e-3};
  const Waveform w = solved(t, times);
  const auto slope = [](double s) {
    if (s > 1e-3 && s < 2e-3) return 5.0 / 1e-3;
    if (s > 3e-3 && s < 3.5e-3) return -6.0 / 0.5e-3;
    return 0.0;
  };
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    const double s = w.seconds[k];
    // A row at a corner tells the current before it.
    const bool is_corner =
        s == 0.0 || s == 1e-3 || s == 2e-3 || s == 3e-3 || s == 3.5e-3;
    if (is_corner) continue;
    CAPTURE(s);
    // Rounding of 6 V over the shortest step, 1e-6 of half a millisecond: 2 uV/s of
    // 5000 V/s are 1e-9; the same in every digit is not asked for.
    CHECK_THAT(w.row(k)[3], WithinAbs(farads * slope(s), 1e-5 * farads * 5e3));
  }
}

TEST_CASE("a charged capacitor runs down through its resistor",
          "[truth][transient][charges]") {
  HandNetwork hand(2);
  hand.capacitor(1, 0, 1e-6);
  hand.resistor(1, 0, 1e3);
  const Waveform w = solved(charged(hand, 5e-3, {-3.0}), grid(5e-3, 100), tight());
  const auto fall = [](double s) { return std::exp(-s / 1e-3); };
  CHECK(worst(w, 1, [&](double s) { return -3.0 * fall(s); }) <= 3.0 * kTight);
  CHECK(worst(w, 2, [&](double s) { return 3e-3 * fall(s); }) <= 3e-3 * kTight);
}

TEST_CASE("an inductor's current runs down through its resistor",
          "[truth][transient][charges]") {
  HandNetwork hand(2);
  hand.inductor(1, 0, 10e-3);
  hand.resistor(1, 0, 10.0);
  const Waveform w = solved(charged(hand, 5e-3, {}, {0.2}), grid(5e-3, 100), tight());
  const auto fall = [](double s) { return std::exp(-s / 1e-3); };
  CHECK(worst(w, 2, [&](double s) { return 0.2 * fall(s); }) <= 0.2 * kTight);
  CHECK(worst(w, 1, [&](double s) { return -2.0 * fall(s); }) <= 2.0 * kTight);
}

// Charge is conserved: v = (C1 v1 + C2 v2) / (C1 + C2).
TEST_CASE("capacitors side by side share their charge", "[truth][transient][charges]") {
  HandNetwork hand(2);
  hand.capacitor(1, 0, 2e-6);
  hand.capacitor(1, 0, 1e-6);
  hand.resistor(1, 0, 1e3);
  const Waveform w = solved(charged(hand, 5e-3, {6.0, 0.0}), grid(5e-3, 100), tight());
  CHECK(worst(w, 1, [](double s) { return 4.0 * std::exp(-s / 3e-3); }) <=
        4.0 * kTight);
}

TEST_CASE("a capacitor across a source has the source's voltage",
          "[truth][transient][charges]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.capacitor(1, 0, 1e-6);
  hand.resistor(1, 2, 1e3);
  hand.capacitor(2, 0, 1e-6);
  const Waveform w = solved(charged(hand, 5e-3, {1.0, 1.0}), grid(5e-3, 100), tight());
  CHECK(worst(w, 1, [](double) { return 5.0; }) <= 5.0 * kTight);
  CHECK(worst(w, 2, [](double s) { return 5.0 - 4.0 * std::exp(-s / 1e-3); }) <=
        5.0 * kTight);
  // No current flows into the first once it is charged.
  CHECK(worst(w, 3, [](double) { return 0.0; }) <= 5e-3 * kTight);
}

}  // namespace benchproof
