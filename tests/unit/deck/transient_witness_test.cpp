// The engine in time: that it reads a timeline's deck as it is meant, and follows it as
// exactly as its options promise.

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "core/check/agree/run_agreement.h"
#include "core/network/edits.h"
#include "core/nodal/transient.h"
#include "spice/session/witness.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::Contains;
using Catch::WithinAbs;
using test::HandNetwork;
using namespace std::chrono_literals;

EngineOptions options() {
  EngineOptions options;
  options.worker_path = std::string(BENCHPROOF_BIN_DIR) + "/benchproof-worker";
  return options;
}

EngineSession& witness_session() {
  static EngineSession one{options()};
  return one;
}

/// What TransientDeckOptions promises of voltages, as a share of their swing.
constexpr double kPromise = 1e-4;

Timeline timeline(const HandNetwork& hand, double span) {
  Timeline t;
  t.network = hand.network();
  t.span = span;
  return t;
}

Waveform solved(const Timeline& t, const TransientDeckOptions& how = {}) {
  Waveform w = solve_with_engine(witness_session(), t, how);
  UNSCOPED_INFO(w.reason);
  REQUIRE(w.status == SolveStatus::solved);
  REQUIRE(w.width == row_width(*t.network.structure));
  REQUIRE(w.rows.size() == w.width * w.seconds.size());
  REQUIRE(w.seconds.size() > 10);
  // Without rest the engine's first step is the first row.
  REQUIRE(w.seconds.front() >= 0.0);
  REQUIRE(w.seconds.front() <= (t.from_rest ? 0.0 : 1.000001e-9));
  REQUIRE(w.seconds.back() == t.span);
  REQUIRE(std::adjacent_find(w.seconds.begin(), w.seconds.end(),
                             std::greater_equal<>()) == w.seconds.end());
  return w;
}

using Law = std::function<double(double seconds)>;

/// The largest difference of a column and a law.
double worst(const Waveform& w, std::size_t column, const Law& law) {
  double most = 0.0;
  for (std::size_t k = 0; k < w.seconds.size(); ++k)
    most = std::max(most, std::abs(w.row(k)[column] - law(w.seconds[k])));
  return most;
}

constexpr double kRise = 1e-6;

/// What a first-order circuit makes of a ramp from 0 to `top` in kRise [calculus].
double ramped(double seconds, double tau, double top) {
  const auto after_ramp = [&](double t) {
    return t <= 0.0 ? 0.0 : top / kRise * (t + tau * std::expm1(-t / tau));
  };
  return after_ramp(seconds) - after_ramp(seconds - kRise);
}

/// The capacitor of a series circuit of R, L, C, discharging from 1 V without current:
/// L C v'' + R C v' + v = 0 [calculus]. Not for critical damping.
double rung(double t, double ohms, double henries, double farads) {
  const double a = ohms / (2.0 * henries);
  const double w2 = 1.0 / (henries * farads);
  if (a * a < w2) {
    const double w = std::sqrt(w2 - a * a);
    return std::exp(-a * t) * (std::cos(w * t) + a / w * std::sin(w * t));
  }
  const double fast = a + std::sqrt(a * a - w2);
  const double slow = w2 / fast;  // without cancelling
  return (fast * std::exp(-slow * t) - slow * std::exp(-fast * t)) / (fast - slow);
}

/// Within DESIGN section 8: 1 mV + 1e-3 of the swing.
void check_agree(const Timeline& t) {
  const Waveform engine = solved(t);
  const Waveform nodal = solve_nodal(t, engine.seconds);
  REQUIRE(nodal.status == SolveStatus::solved);
  const RunAgreement a = agree(t, engine, nodal);
  CAPTURE(a.reason, a.net, a.seconds, a.difference, a.allowed);
  CHECK(a.agrees);
}

Timeline ringing(double ohms, double henries, double farads, double span) {
  HandNetwork h(3);
  h.capacitor(1, 0, farads);
  h.resistor(1, 2, ohms);
  h.inductor(2, 0, henries);
  Timeline t = timeline(h, span);
  t.from_rest = false;
  t.capacitor_volts = {1.0};
  t.inductor_amps = {0.0};
  return t;
}

}  // namespace

TEST_CASE("the engine charges a capacitor as calculus has it",
          "[deck][engine][transient][closed-form]") {
  const double tau = GENERATE(1e-5, 1e-3);
  const double at = 1e-3;
  HandNetwork h(3);
  h.voltage_source(1, 0, 0.0);
  h.resistor(1, 2, 1e3);
  h.capacitor(2, 0, tau / 1e3);
  Timeline t = timeline(h, 6e-3);
  t.volts = {{0, {{at, 0.0}, {at + kRise, 5.0}}}};
  const Waveform w = solved(t);
  const Law volts = [&](double s) { return ramped(s - at, tau, 5.0); };
  const Law amps = [&](double s) {
    return (value_at(t.volts[0], s, false) - volts(s)) / 1e3;
  };
  CHECK(worst(w, 2, volts) <= 5.0 * kPromise);
  // Capacitor a to b, source a to b through itself: 5 mA at most, as exact as the
  // voltages that they follow from.
  CHECK(worst(w, 3, amps) <= 5e-3 * kPromise);
  CHECK(worst(w, 4, [&](double s) { return -amps(s); }) <= 5e-3 * kPromise);
  // No corner is passed over.
  for (const double corner : corners_of(t)) {
    const auto near = [&](double s) { return std::abs(s - corner) <= 1e-15; };
    CHECK(std::any_of(w.seconds.begin(), w.seconds.end(), near));
  }
}

TEST_CASE("the engine's inductor takes its current up as calculus has it",
          "[deck][engine][transient][closed-form]") {
  HandNetwork h(3);
  h.voltage_source(1, 0, 0.0);
  h.resistor(1, 2, 50.0);
  h.inductor(2, 0, 0.05);
  Timeline t = timeline(h, 10e-3);
  t.volts = {{0, {{0.0, 0.0}, {kRise, 12.0}}}};
  const Waveform w = solved(t);
  const Law amps = [](double s) { return ramped(s, 1e-3, 12.0) / 50.0; };
  CHECK(worst(w, 3, amps) <= 12.0 / 50.0 * kPromise);
  CHECK(worst(w, 2, [&](double s) {
          return value_at(t.volts[0], s, false) - 50.0 * amps(s);
        }) <= 12.0 * kPromise);
}

TEST_CASE("the engine rings, creeps and halts as calculus has it",
          "[deck][engine][transient][closed-form]") {
  // 1 mH and 1 uF: critical at 63.2 ohm; 0.05 damps over 3 ms by a tenth only.
  const double ohms = GENERATE(5.0, 40.0, 63.0, 500.0);
  CAPTURE(ohms);
  const Waveform w = solved(ringing(ohms, 1e-3, 1e-6, 3e-3));
  // From +1 V it swings to -1 V at most.
  CHECK(worst(w, 1, [&](double s) { return rung(s, ohms, 1e-3, 1e-6); }) <=
        2.0 * kPromise);
}

TEST_CASE("the engine's method is of second order", "[deck][engine][transient]") {
  // The error of a step of second order grows as the third power of its length, that
  // of the whole run as the second: 100 times as small an error of the steps makes that
  // of the run 100^(2/3) = 21.5 times as small; a method of first order would come to
  // 100^(1/2) = 10.
  const auto method = GENERATE(TransientDeckOptions::Method::trapezoidal,
                               TransientDeckOptions::Method::gear);
  const auto error = [&](double trtol) {
    TransientDeckOptions how;
    how.method = method;
    how.trtol = trtol;
    const Waveform w = solved(ringing(5.0, 1e-3, 1e-6, 1e-3), how);
    return worst(w, 1, [](double s) { return rung(s, 5.0, 1e-3, 1e-6); });
  };
  const double gain = error(3.0) / error(0.03);
  CHECK(gain > 16.0);
  CHECK(gain < 28.0);
}

TEST_CASE("two capacitors even out their charges",
          "[deck][engine][transient][closed-form]") {
  HandNetwork h(3);
  h.capacitor(1, 0, 2e-6);
  h.capacitor(0, 2, 1e-6);  // the other way round
  h.resistor(1, 2, 1e3);
  Timeline t = timeline(h, 5e-3);
  t.from_rest = false;
  t.capacitor_volts = {9.0, 3.0};
  const Waveform w = solved(t);
  // q = 18 uC - 3 uC on 3 uF: 5 V; the difference of 12 V dies with R times the two in
  // series.
  const double tau = 1e3 * (2e-6 / 3.0);
  const Law gap = [&](double s) { return 12.0 * std::exp(-s / tau); };
  CHECK(worst(w, 1, [&](double s) { return 5.0 + gap(s) / 3.0; }) <= 12.0 * kPromise);
  CHECK(worst(w, 2, [&](double s) { return 5.0 - 2.0 * gap(s) / 3.0; }) <=
        12.0 * kPromise);
  const Law amps = [&](double s) { return gap(s) / 1e3; };
  CHECK(worst(w, 3, [&](double s) { return -amps(s); }) <= 12e-3 * kPromise);
  CHECK(worst(w, 4, [&](double s) { return -amps(s); }) <= 12e-3 * kPromise);
}

TEST_CASE("an inductor's current dies from where it was",
          "[deck][engine][transient][closed-form]") {
  HandNetwork h(2);
  h.inductor(0, 1, 10e-3);
  h.resistor(1, 0, 20.0);
  Timeline t = timeline(h, 3e-3);
  t.from_rest = false;
  t.inductor_amps = {0.25};
  const Waveform w = solved(t);
  const Law amps = [](double s) { return 0.25 * std::exp(-s / 0.5e-3); };
  CHECK(worst(w, 2, amps) <= 0.25 * kPromise);
  CHECK(worst(w, 1, [&](double s) { return 20.0 * amps(s); }) <= 5.0 * kPromise);
}

TEST_CASE("switches pass their decades evenly", "[deck][engine][transient]") {
  // Without memory the row of every time is the divider of that time. The engine stops
  // at a step of reltol of its voltage; the one before it was larger, and Newton's
  // method squares what is left. The rest is the rounding of the conductance, whose
  // logarithm of 21 moves by 1e-15 of itself per rounding of the time, over the share
  // of a microsecond that a time of 20 ms is rounded by: 2e-11.
  HandNetwork h(3);
  h.voltage_source(1, 0, 5.0);
  h.resistor(1, 2, 1e9);
  h.resistor(2, 0, 40.0);
  Timeline t = timeline(h, 20e-3);
  const int periods = GENERATE(0, 3, 40);
  CAPTURE(periods);
  if (periods == 0) {
    t.ohms = {{0, {{2e-3, 1e9}, {2e-3 + 1e-6, 30.0}, {9e-3, 30.0}, {12e-3, 1e6}}},
              {1, {{2e-3, 40.0}, {2e-3 + 1e-6, 1e6}}}};
  } else {
    t.ohms = {{0, {}}, {1, {}}};
    const double period = t.span / periods;
    for (int k = 0; k < periods; ++k) {
      for (const double at : {period * k, period * (k + 0.3)}) {
        const bool is_on = at == period * k;
        t.ohms[0].corners.insert(
            t.ohms[0].corners.end(),
            {{at, is_on ? 1e9 : 40.0}, {at + 1e-6, is_on ? 40.0 : 1e9}});
        t.ohms[1].corners.insert(
            t.ohms[1].corners.end(),
            {{at, is_on ? 40.0 : 1e9}, {at + 1e-6, is_on ? 1e9 : 40.0}});
      }
    }
  }
  const Waveform w = solved(t);
  int between = 0;
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    const Network n = network_at(t, w.seconds[k]);
    const double high = n.values.ohms[0];
    const double low = n.values.ohms[1];
    const double expected = 5.0 * low / (low + high);
    CAPTURE(w.seconds[k], high, low);
    REQUIRE_THAT(w.row(k)[2], WithinAbs(expected, 5e-6));
    REQUIRE_THAT(w.row(k)[3], WithinAbs(-5.0 / (low + high), 1e-10 + 5e-6 / low));
    if (expected > 0.01 && expected < 4.99) ++between;
  }
  CHECK(between > 0);  // points within an edge, where the logarithm shows
}

TEST_CASE("both witnesses tell the same of a supply that comes up",
          "[deck][engine][transient]") {
  HandNetwork h(7);
  h.voltage_source(1, 0, 0.0);
  h.resistor(1, 2, 0.5);
  DiodeModel rectifier;
  rectifier.is = 7e-9;
  rectifier.n = 1.8;
  rectifier.rs = 0.034;
  h.diode(2, 3, rectifier);
  h.capacitor(3, 5, 470e-6);
  h.resistor(5, 0, 0.1);
  RegulatorModel regulator;
  regulator.quiescent = 5e-3;
  h.regulator(3, 0, 4, regulator);
  h.capacitor(4, 6, 10e-6);
  h.resistor(6, 0, 0.5);
  h.resistor(4, 0, 47e6);
  h.resistor(4, 0, 470.0);
  Timeline t = timeline(h, 20e-3);
  t.volts = {{0, {{0.0, 0.0}, {1e-3, 12.0}}}};
  t.ohms = {
      {3, {{8e-3, 47e6}, {8e-3 + 1e-6, 47.0}, {14e-3, 47.0}, {14e-3 + 1e-6, 47e6}}}};
  REQUIRE(h.values.ohms[3] == 47e6);
  check_agree(t);
  const Waveform engine = solved(t);
  const Waveform nodal = solve_nodal(t, engine.seconds);
  REQUIRE(nodal.status == SolveStatus::solved);
  // The currents, where nothing switches: half way between two corners.
  const auto k = std::lower_bound(engine.seconds.begin(), engine.seconds.end(), 11e-3) -
                 engine.seconds.begin();
  const auto j =
      std::lower_bound(nodal.seconds.begin(), nodal.seconds.end(), engine.seconds[k]) -
      nodal.seconds.begin();
  const std::size_t source = row_width(h.structure) - 2;
  CHECK_THAT(engine.row(k)[source], WithinAbs(nodal.row(j)[source], 1e-3));
  // 5 V on 47 and 470 ohm: the regulator delivers, so the current into `out` is below
  // 0.
  CHECK_THAT(engine.row(k)[source + 1],
             WithinAbs(-5.0 / 47.0 - 5.0 / 470.0, 5.0 / 47.0 * 1e-3));
  CHECK_THAT(engine.row(k)[source + 1], WithinAbs(nodal.row(j)[source + 1], 1e-4));
}

TEST_CASE("both witnesses tell the same of an ideal diode behind PWM",
          "[deck][engine][transient]") {
  // The diode lets go while the output is at hundreds of kilohms, where a microampere
  // that should not flow shows.
  HandNetwork h(4);
  h.voltage_source(1, 0, 5.0);
  h.resistor(1, 2, 40.0);
  h.resistor(2, 0, 1e9);
  DiodeModel ideal;
  ideal.n = 1e-5;
  ideal.is = 1e-12;
  h.diode(2, 3, ideal);
  h.capacitor(3, 0, 10e-6);
  h.resistor(3, 0, 330.0);
  Timeline t = timeline(h, 40e-3);
  t.ohms = {{0, {}}, {1, {}}};
  for (int k = 0; k < 20; ++k) {
    const double on = 2e-3 * k;
    const double off = on + 0.6e-3;
    if (k > 0) {
      t.ohms[0].corners.insert(t.ohms[0].corners.end(), {{on, 1e9}, {on + 1e-6, 40.0}});
      t.ohms[1].corners.insert(t.ohms[1].corners.end(), {{on, 40.0}, {on + 1e-6, 1e9}});
    }
    t.ohms[0].corners.insert(t.ohms[0].corners.end(), {{off, 40.0}, {off + 1e-6, 1e9}});
    t.ohms[1].corners.insert(t.ohms[1].corners.end(), {{off, 1e9}, {off + 1e-6, 40.0}});
  }
  t.from_rest = GENERATE(true, false);
  if (!t.from_rest) t.capacitor_volts = {1.0};
  check_agree(t);
}

TEST_CASE("both witnesses tell the same of a large capacitor right across a source",
          "[deck][engine][transient]") {
  // Among short steps its current carries the rounding of 12 V times 2 C / step, and
  // the source's with it. 1 nF and 4700 uF in one circuit.
  HandNetwork h(3);
  h.voltage_source(1, 0, 12.0);
  h.capacitor(1, 0, 4700e-6);
  h.resistor(1, 2, 100.0);
  h.capacitor(2, 0, 1e-9);
  h.resistor(2, 0, 1e3);
  Timeline t = timeline(h, GENERATE(20e-3, 1.0, 100.0));
  t.volts = {{0,
              {{0.25 * t.span, 12.0},
               {0.25 * t.span + 1e-3, 5.0},
               {0.5 * t.span, 5.0},
               {0.5 * t.span + 1e-3, 12.0}}}};
  t.from_rest = GENERATE(true, false);
  if (!t.from_rest) t.capacitor_volts = {12.0, 0.0};
  CAPTURE(t.span, t.from_rest);
  check_agree(t);
}

TEST_CASE("a run that begins at rest and stays there does not move",
          "[deck][engine][transient]") {
  HandNetwork h(4);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 330.0);
  h.diode(2, 3, DiodeModel{});
  h.inductor(3, 0, 1e-3);
  h.capacitor(2, 0, 1e-6);
  const Timeline t = timeline(h, 1.0);
  const Waveform w = solved(t);
  // Each step may settle within reltol and vntol of where it was.
  for (std::size_t column = 1; column < 4; ++column)
    CHECK(worst(w, column, [&](double) { return w.row(0)[column]; }) <= 9.0 * 2e-6);
}

TEST_CASE("an endless run ends at the deadline, and the next is answered",
          "[deck][engine][transient]") {
  EngineOptions hasty = options();
  hasty.deadline = 500ms;
  EngineSession mine(hasty);
  TransientDeckOptions endless;
  endless.longest = 1e-7;
  const Timeline t = ringing(5.0, 1e-3, 1e-6, 3e-3);
  const auto begin = std::chrono::steady_clock::now();
  const Waveform lost = solve_with_engine(mine, t, endless);
  const auto took = std::chrono::steady_clock::now() - begin;
  CHECK(lost.status == SolveStatus::engine_lost);
  CHECK(lost.reason == "no answer within 500 ms");
  CHECK(lost.seconds.empty());
  CHECK(took < 5s);  // far above any scheduling delay
  CHECK(solve_with_engine(mine, t).status == SolveStatus::solved);
}

TEST_CASE("all questions about one run share one deadline",
          "[deck][engine][transient]") {
  EngineOptions hasty = options();
  hasty.deadline = 300ms;
  EngineSession mine(hasty);
  const SolveInTime witness = engine_in_time(mine);
  // 5 kHz, hardly damped: of ten seconds the engine follows no more than a little.
  const Timeline t = ringing(5.0, 1e-3, 1e-6, 3e-4);
  const Timeline endless = ringing(1e-3, 1e-3, 1e-6, 10.0);
  CHECK(witness(t, {}, 0).status == SolveStatus::solved);
  CHECK_THAT(witness(endless, {}, 0).reason, Contains("no answer within "));
  const auto begin = std::chrono::steady_clock::now();
  const Waveform late = witness(endless, {}, 1);
  CHECK(std::chrono::steady_clock::now() - begin < 200ms);  // it was not asked
  CHECK(late.status == SolveStatus::engine_lost);
  CHECK(late.reason == "its time for one run, 300 ms, is used up");
  // Another run begins with a question of the usual exactness.
  CHECK(witness(t, {}, 0).status == SolveStatus::solved);
}

TEST_CASE("a wound coil and a regulator of the same number stand side by side",
          "[deck][engine][transient]") {
  HandNetwork h(4);
  h.voltage_source(1, 0, 9.0);
  h.inductor(1, 2, 1e-3);
  h.values.coils[0].ohms = 3.0;
  h.resistor(2, 0, 100.0);
  h.regulator(1, 0, 3, RegulatorModel{});
  h.resistor(3, 0, 1e3);
  Timeline t = timeline(h, 1e-3);
  t.volts = {{0, {{1e-4, 9.0}, {2e-4, 8.0}}}};
  check_agree(t);
}

TEST_CASE("a run that cannot begin at rest is told as such",
          "[deck][engine][transient]") {
  EngineOptions nowhere = options();
  nowhere.worker_path = "/nowhere/benchproof-worker";
  EngineSession mine(nowhere);
  HandNetwork h(2);
  h.voltage_source(1, 0, 1.0);
  h.resistor(1, 0, 1.0);
  const Waveform w = solve_with_engine(mine, timeline(h, 1.0));
  CHECK(w.status == SolveStatus::engine_lost);
  CHECK_THAT(w.reason, Contains("at rest, before the run: cannot start '/nowhere/"));
}

}  // namespace benchproof
