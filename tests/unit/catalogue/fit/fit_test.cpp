#include "core/catalogue/fit/fit.h"
#include "tests/unit/catalogue/thermal.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

namespace benchproof {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

ForwardPoint point(double amps, double volts) {
  return {amps, volts, Mark::verified, "test"};
}

/// Points of V = n vt ln(I/is + 1) + I rs, the law written out once more.
std::vector<ForwardPoint> points_of(double is, double n, double rs,
                                    const std::vector<double>& amps) {
  std::vector<ForwardPoint> points;
  points.reserve(amps.size());
  for (const double i : amps) {
    points.push_back(point(i, n * kVt * std::log(i / is + 1) + i * rs));
  }
  return points;
}

double squares(const DiodeModel& model, const std::vector<ForwardPoint>& points) {
  double sum = 0;
  for (const auto& p : points) {
    const double error = voltage_at(model, p.amps, 25.0) - p.volts;
    sum += error * error;
  }
  return sum;
}

// Rounding: n eps cond(A) of the largest unknown, for n = 7 points. The columns
// (-vt, vt ln I, I) have a condition number of 47 over these currents, computed once by
// singular values, and at most twice that where is is not small against I; the largest
// unknown is the logarithm of is, up to 28.
constexpr double kRecovered = 7 * 100 * 28 * std::numeric_limits<double>::epsilon();

TEST_CASE("a synthetic curve is recovered from its points", "[catalogue][fit]") {
  // The first is a maker's published card, DI1N4004: IS = 76.9 nA, N = 1.45,
  // RS = 42 mohm [Kuphaldt, Lessons In Electric Circuits vol. III, SPICE models].
  const DiodeModel card = GENERATE(DiodeModel{.is = 76.9e-9, .n = 1.45, .rs = 0.042},
                                   DiodeModel{.is = 1e-12, .n = 1.8, .rs = 0.3},
                                   DiodeModel{.is = 1e-5, .n = 1.05, .rs = 0.1});
  CAPTURE(card.is, card.n, card.rs);
  const auto points =
      points_of(card.is, card.n, card.rs, {1e-5, 1e-4, 1e-3, 1e-2, 0.1, 0.5, 1.0});
  const auto fit = fit_forward(points, {});
  CHECK_THAT(fit.model.n, WithinRel(card.n, kRecovered));
  CHECK_THAT(std::log(fit.model.is), WithinRel(std::log(card.is), kRecovered));
  CHECK_THAT(fit.model.rs, WithinRel(card.rs, 10 * kRecovered));
  CHECK(fit.model.tnom == 25.0);
  CHECK(fit.worst < 1e-12);
}

TEST_CASE("one point is passed through exactly", "[catalogue][fit]") {
  const auto p = point(20e-3, 2.0);
  const auto fit = fit_forward(std::vector{p}, {.n = 2.0, .rs = 5.0});
  // The law the other way round: the current at the junction's voltage.
  const double junction = p.volts - p.amps * 5.0;
  CHECK_THAT(fit.model.is * std::expm1(junction / (2.0 * kVt)),
             WithinRel(p.amps, 1e-12));
  CHECK(fit.errors.size() == 1);
  CHECK(fit.worst < 1e-6);
}

TEST_CASE("two points give n, or rs where n is known", "[catalogue][fit]") {
  const auto points = points_of(1e-6, 1.3, 0.1, {0.01, 1.0});
  const auto with_rs = fit_forward(points, {.rs = 0.1});
  CHECK_THAT(with_rs.model.n, WithinRel(1.3, 1e-9));
  const auto with_n = fit_forward(points, {.n = 1.3});
  CHECK_THAT(with_n.model.rs, WithinRel(0.1, 1e-9));
  const auto plain = fit_forward(points, {});
  CHECK(plain.model.rs == 0.0);
  CHECK(plain.model.n > 1.3);  // n takes the resistance's share of the slope
  CHECK(plain.worst < 1e-6);
}

TEST_CASE("a fit through more points than unknowns is a least-squares one",
          "[catalogue][fit]") {
  auto points = points_of(1e-12, 1.8, 0.3, {1e-4, 1e-3, 1e-2, 0.1, 0.5, 1.0});
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].volts += i % 2 == 0 ? 2e-3 : -2e-3;
  }
  const auto fit = fit_forward(points, {});
  // The true curve misses every point by 2 mV; the fit may not be worse in squares.
  CHECK(squares(fit.model, points) <= 6 * 2e-3 * 2e-3);
  CHECK(fit.worst > 1e-4);
  CHECK(fit.errors.size() == points.size());
  // A minimum: every step away from it costs.
  for (const double step : {-1e-3, 1e-3}) {
    DiodeModel n = fit.model;
    n.n *= 1 + step;
    DiodeModel is = fit.model;
    is.is *= 1 + step;
    DiodeModel rs = fit.model;
    rs.rs *= 1 + step;
    CHECK(squares(n, points) > squares(fit.model, points));
    CHECK(squares(is, points) > squares(fit.model, points));
    CHECK(squares(rs, points) > squares(fit.model, points));
  }
}

TEST_CASE("a series resistance is never negative", "[catalogue][fit]") {
  // Voltages that rise ever more slowly than the logarithm ask for rs below 0.
  auto points = points_of(1e-12, 1.8, 0.0, {1e-4, 1e-2, 1.0});
  points.back().volts -= 0.05;
  const auto fit = fit_forward(points, {});
  CHECK(fit.model.rs == 0.0);
  CHECK(fit.worst > 1e-3);
}

TEST_CASE("points that make no diode are refused", "[catalogue][fit]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double inf = std::numeric_limits<double>::infinity();
  const auto one = std::vector{point(0.02, 2.0)};
  CHECK_THROWS_AS(fit_forward({}, {.n = 1.0}), std::invalid_argument);
  CHECK_THROWS_WITH(fit_forward(one, {}), "one forward point needs n besides");
  CHECK_THROWS_AS(fit_forward(one, {.n = 0.4}), std::invalid_argument);
  CHECK_THROWS_AS(fit_forward(one, {.n = 6.1}), std::invalid_argument);
  CHECK_THROWS_AS(fit_forward(one, {.n = nan}), std::invalid_argument);
  CHECK_THROWS_AS(fit_forward(one, {.n = 1.0, .rs = -1.0}), std::invalid_argument);
  CHECK_THROWS_AS(fit_forward(one, {.n = 1.0, .rs = 200.0}), std::invalid_argument);
  for (const double bad : {0.0, -1.0, nan, inf}) {
    CHECK_THROWS_AS(fit_forward(std::vector{point(bad, 2.0)}, {.n = 1.0}),
                    std::invalid_argument);
    CHECK_THROWS_AS(fit_forward(std::vector{point(0.02, bad)}, {.n = 1.0}),
                    std::invalid_argument);
  }
  // 0.6 V at 1 A and 0.9 V at 3 A without a resistance need
  // expm1(0.9 V / x) = 3 expm1(0.6 V / x), so x = n vt = 0.298 V.
  CHECK_THROWS_WITH(fit_forward(std::vector{point(1.0, 0.6), point(3.0, 0.9)}, {}),
                    Catch::Contains("n = 11.6"));
  // The same point twice, and a voltage that falls with the current.
  CHECK_THROWS_AS(fit_forward(std::vector{point(1.0, 0.6), point(1.0, 0.6)}, {}),
                  std::invalid_argument);
  CHECK_THROWS_AS(fit_forward(std::vector{point(1.0, 0.6), point(3.0, 0.5)}, {}),
                  std::invalid_argument);
}

TEST_CASE("a published drift sets the activation energy", "[catalogue][fit]") {
  const auto fit = fit_forward(std::vector{point(2e-3, 1.85)},
                               {.n = 2.0, .rs = 5.0, .drift = -2e-3});
  const auto& m = fit.model;
  // Central difference over 2 K; its error is the third derivative's, below 1e-9 V/K.
  const double slope = (voltage_at(m, 2e-3, 26.0) - voltage_at(m, 2e-3, 24.0)) / 2.0;
  CHECK_THAT(slope, WithinAbs(-2e-3, 1e-8));
  CHECK_THAT(voltage_at(m, 2e-3, 25.0), WithinAbs(1.85, 1e-12));
}

ZenerSheet sheet_of(double volts, double amps, double nbv, double rs,
                    double knee_amps) {
  ZenerSheet sheet;
  sheet.volts = volts;
  sheet.test_amps = amps;
  sheet.slope = nbv * kVt / amps + rs;
  sheet.knee_amps = knee_amps;
  sheet.knee_slope = nbv * kVt / knee_amps + rs;
  sheet.forward = point(0.2, 1.2);
  return sheet;
}

TEST_CASE("a zener's two slopes give nbv and rs", "[catalogue][fit][zener]") {
  const auto model = fit_zener(sheet_of(12.0, 20e-3, 3.0, 2.5, 1e-3));
  CHECK_THAT(model.nbv, WithinRel(3.0, 1e-12));
  CHECK_THAT(model.rs, WithinRel(2.5, 1e-12));
  CHECK(model.ibv == 20e-3);
  CHECK_THAT(model.bv, WithinRel(12.0 - 20e-3 * 2.5, 1e-12));
  // Forward: 1.2 V at 200 mA less 0.5 V for rs leaves the junction 0.7 V.
  CHECK_THAT(voltage_at(model, 0.2, 25.0), WithinAbs(1.2, 1e-6));
}

TEST_CASE("a knee too steep for an exponential keeps the slope at the test current",
          "[catalogue][fit][zener]") {
  auto sheet = sheet_of(9.1, 28e-3, 3.0, 0.0, 1e-3);
  sheet.slope = 5.0;
  sheet.knee_slope = 700.0;
  const auto model = fit_zener(sheet);
  CHECK(model.rs == 0.0);
  CHECK_THAT(model.nbv * kVt / 28e-3, WithinRel(5.0, 1e-12));
  CHECK(model.bv == 9.1);
}

TEST_CASE("a soft zener of low voltage keeps clear of its forward curve",
          "[catalogue][fit][zener]") {
  ZenerSheet sheet;
  sheet.volts = 2.4;
  sheet.test_amps = 5e-3;
  sheet.slope = 85.0;
  sheet.forward = point(0.2, 1.5);
  const auto model = fit_zener(sheet);
  CHECK(model.rs > 0.0);
  CHECK_THAT(model.rs + model.nbv * kVt / 5e-3, WithinRel(85.0, 1e-12));
  CHECK_THAT(model.bv + 5e-3 * model.rs, WithinRel(2.4, 1e-12));
  // Where the breakdown law I = ibv exp((|v| - bv) / (nbv vt)) has fallen to is.
  const double start = model.bv - model.nbv * kVt * std::log(model.ibv / model.is);
  CHECK(start >= 0.5 - 1e-9);
}

TEST_CASE("a zener's impossible figures are refused", "[catalogue][fit][zener]") {
  const auto good = sheet_of(12.0, 20e-3, 3.0, 2.5, 1e-3);
  const double bad = GENERATE(0.0, -1.0, std::numeric_limits<double>::quiet_NaN(),
                              std::numeric_limits<double>::infinity());
  for (auto figure : {&ZenerSheet::volts, &ZenerSheet::test_amps, &ZenerSheet::slope,
                      &ZenerSheet::n, &ZenerSheet::knee_amps}) {
    auto sheet = good;
    sheet.*figure = bad;
    CHECK_THROWS_AS(fit_zener(sheet), std::invalid_argument);
  }
  auto knee_above = good;
  knee_above.knee_amps = 30e-3;
  CHECK_THROWS_AS(fit_zener(knee_above), std::invalid_argument);
  auto steep = good;
  steep.slope = 600.0;
  CHECK_THROWS_AS(fit_zener(steep), std::invalid_argument);
}

TEST_CASE("a bipolar transistor carries its current at its base voltage",
          "[catalogue][fit][bipolar]") {
  const auto model = fit_bipolar({.is_pnp = true,
                                  .base_volts = 0.75,
                                  .collector_amps = 10e-3,
                                  .gain = 30,
                                  .reverse_gain = 2});
  CHECK(model.is_pnp);
  CHECK_THAT(model.is * std::expm1(0.75 / kVt), WithinRel(10e-3, 1e-12));
  CHECK(model.bf == 30);
  CHECK(model.br == 2);
  CHECK(std::isinf(model.vaf));
  CHECK(model.tnom == 25.0);
  CHECK_THROWS_AS(fit_bipolar({.base_volts = 0.7, .collector_amps = 1e-3, .gain = 0}),
                  std::invalid_argument);
  CHECK_THROWS_AS(fit_bipolar({.base_volts = 0, .collector_amps = 1e-3, .gain = 9}),
                  std::invalid_argument);
}

TEST_CASE("a bipolar transistor's gain falls to the least that is published",
          "[catalogue][fit][bipolar]") {
  BipolarSheet sheet{.base_volts = 0.75,
                     .collector_amps = 10e-3,
                     .gain = 70,
                     .gain_amps = 1e-3,
                     .gains = {{0.1e-3, 40}, {1e-3, 70}, {10e-3, 100}, {50e-3, 60}}};
  // 70 / (1 + 50 mA / ikf) = 60. What is below the current of the gain does not count,
  // nor what is above the gain.
  CHECK_THAT(fit_bipolar(sheet).ikf, WithinRel(0.3, 1e-12));
  sheet.gains.push_back({100e-3, 30});
  const auto model = fit_bipolar(sheet);
  CHECK_THAT(model.ikf, WithinRel(0.075, 1e-12));
  // Active with h = 1 / (1 + IC/ikf), IC = is (exp - 1) h: the base voltage is kept.
  CHECK_THAT(model.is * std::expm1(0.75 / kVt),
             WithinRel(10e-3 * (1 + 10e-3 / 0.075), 1e-12));
  sheet.gains = {{1e-3, 70}, {10e-3, 100}};
  CHECK(std::isinf(fit_bipolar(sheet).ikf));
  sheet.gains = {{50e-3, 0}};
  CHECK_THROWS_AS(fit_bipolar(sheet), std::invalid_argument);
}

TEST_CASE("a bipolar transistor saturates to what is published",
          "[catalogue][fit][bipolar]") {
  BipolarSheet sheet{.base_volts = 0.75,
                     .collector_amps = 10e-3,
                     .gain = 100,
                     .gain_amps = 1e-3,
                     .saturations = {{10e-3, 1e-3, 0.25}, {50e-3, 5e-3, 0.3}}};
  const auto model = fit_bipolar(sheet);
  CHECK(std::isinf(model.ikf));
  // Ebers and Moll, at a forced gain of 10 and br of 1: VCE of the junctions is
  // kT/q ln((1 + (1 + 10) / 1) / (1 - 10/100)) but for is; the rest is resistance.
  const double junctions = kVt * std::log((1.0 + 11.0) / (1.0 - 10.0 / 100.0));
  CHECK_THAT(model.rc, WithinRel((0.3 - junctions) / 50e-3, 1e-4));
  CHECK_THAT(saturation_volts(model, 50e-3, 5e-3), WithinRel(0.3, 1e-9));
  CHECK(saturation_volts(model, 10e-3, 1e-3) < 0.25);
  // The junctions alone have more: no resistance.
  sheet.saturations = {{10e-3, 1e-3, 0.02}};
  CHECK(fit_bipolar(sheet).rc == 0.0);
  // With this base current it is not saturated.
  sheet.saturations = {{10e-3, 0.1e-3, 0.25}};
  CHECK_THROWS_AS(fit_bipolar(sheet), std::invalid_argument);
  sheet.saturations = {{10e-3, 0.0, 0.25}};
  CHECK_THROWS_AS(fit_bipolar(sheet), std::invalid_argument);
}

TEST_CASE("what of the on resistance stays at a high gate voltage is the drain's",
          "[catalogue][fit][mos]") {
  // R = rd + 1 / (kp o), o = 3 V and 8 V: 1 / kp (1/3 - 1/8) is 3 mohm.
  MosSheet sheet{.threshold = 2.0,
                 .resistance = 0.025,
                 .gate_volts = 5.0,
                 .further = {{10.0, 1e-9, 0.022}}};
  const auto model = fit_mos(sheet);
  CHECK_THAT(1.0 / model.kp, WithinRel(0.0144, 1e-6));
  CHECK_THAT(model.rd, WithinRel(0.0202, 1e-6));
  CHECK_THAT(on_ohms(model, 5.0, 0.0), WithinRel(0.025, 1e-12));
  CHECK_THAT(on_ohms(model, 10.0, 0.0), WithinRel(0.022, 1e-6));
  // Two points of which one asks for more: neither is passed.
  sheet.further = {{10.0, 1e-9, 0.022}, {8.0, 1e-9, 0.022}};
  CHECK_THAT(on_ohms(fit_mos(sheet), 8.0, 0.0), WithinRel(0.022, 1e-6));
  CHECK(on_ohms(fit_mos(sheet), 10.0, 0.0) < 0.0215);
  // One below: as far from that as from the one above. With rd = 15 mohm and 1 / kp =
  // 30 mohm V there are 30 of 35 mohm at 4 V and 18.75 of 22 at 10 V: near that.
  sheet.further = {{4.0, 1e-9, 0.035}, {10.0, 1e-9, 0.022}};
  const auto balanced = fit_mos(sheet);
  CHECK_THAT(on_ohms(balanced, 4.0, 0.0) / 0.035,
             WithinRel(on_ohms(balanced, 10.0, 0.0) / 0.022, 1e-9));
  CHECK_THAT(balanced.rd, WithinRel(0.015, 0.01));
  // Without one above the gate voltage, or with one that even a channel alone passes,
  // all of it is the channel's; a flat one leaves a tenth to it.
  sheet.further = {{4.0, 1e-9, 0.035}};
  CHECK(fit_mos(sheet).rd == 0.0);
  sheet.further = {{10.0, 1e-9, 0.005}};
  CHECK(fit_mos(sheet).rd == 0.0);
  sheet.further = {{10.0, 1e-9, 0.025}};
  CHECK_THAT(fit_mos(sheet).rd, WithinRel(0.9 * 0.025, 1e-9));
  sheet.further = {{10.0, 0.0, 0.022}};
  CHECK_THROWS_AS(fit_mos(sheet), std::invalid_argument);
}

TEST_CASE("a MOS transistor shows its on resistance at its test current",
          "[catalogue][fit][mos]") {
  // Supertex DSFP-2N7000 page 2: 5.3 ohm at VGS = 4.5 V, ID = 75 mA; threshold 3.0 V.
  const MosSheet sheet{
      .threshold = 3.0, .resistance = 5.3, .gate_volts = 4.5, .drain_amps = 75e-3};
  const auto model = fit_mos(sheet);
  const double vds = 75e-3 * 5.3;
  CHECK_THAT(model.kp * (1.5 * vds - vds * vds / 2), WithinRel(75e-3, 1e-12));
  CHECK(model.vto == 3.0);

  auto small = sheet;
  small.drain_amps = 0.0;
  CHECK_THAT(fit_mos(small).kp, WithinRel(1 / (5.3 * 1.5), 1e-12));
  small.drain_amps = 1e-9;
  CHECK_THAT(fit_mos(small).kp, WithinRel(1 / (5.3 * 1.5), 1e-8));

  auto p_channel = sheet;
  p_channel.is_p_channel = true;
  CHECK(fit_mos(p_channel).vto == -3.0);

  auto off = sheet;
  off.gate_volts = 3.0;
  CHECK_THROWS_AS(fit_mos(off), std::invalid_argument);
  auto saturated = sheet;
  saturated.drain_amps = 0.3;  // 1.59 V across it, above the 1.5 V of overdrive
  CHECK_THROWS_AS(fit_mos(saturated), std::invalid_argument);
}

}  // namespace
}  // namespace benchproof
