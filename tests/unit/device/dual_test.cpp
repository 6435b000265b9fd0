#include "core/device/dual.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>
#include <limits>

#include "core/device/bipolar.h"
#include "core/device/diode.h"
#include "core/device/mos.h"
#include "core/device/regulator.h"
#include "tests/unit/device/slopes.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::kEps;

using Two = Dual<2>;

/// Whether both slopes are what calculus says, to a few roundings.
void check(const Two& found, double value, double by_first, double by_second) {
  CHECK_THAT(found.value, WithinRel(value, 2 * kEps));
  CHECK_THAT(found.slopes[0], WithinRel(by_first, 8 * kEps));
  CHECK_THAT(found.slopes[1], WithinRel(by_second, 8 * kEps));
}

/// The model with every number a variable, and the temperature the last one.
template <template <class> class ModelOf>
auto varied(const ModelOf<double>& m) {
  using Number = DualOf<ModelOf<double>>;
  ModelOf<Number> v;
  for (std::size_t k = 0; k < ModelOf<double>::kNumbers.size(); ++k)
    v.*ModelOf<Number>::kNumbers[k].member =
        Number::variable(m.*ModelOf<double>::kNumbers[k].member, k);
  return v;
}

/// Which number of a model has that name.
template <class Model>
std::size_t number(std::string_view name) {
  for (std::size_t k = 0; k < Model::kNumbers.size(); ++k)
    if (Model::kNumbers[k].name == name) return k;
  FAIL("no number " << name);
  return 0;
}

}  // namespace

TEST_CASE("duals move by the rules of calculus", "[device][dual]") {
  const double a = GENERATE(0.3, 2.5);
  const double b = GENERATE(-1.7, 0.8);
  const Two x = Two::variable(a, 0);
  const Two y = Two::variable(b, 1);
  check(x + y, a + b, 1, 1);
  check(x - y, a - b, 1, -1);
  check(-x, -a, -1, 0);
  check(x * y, a * b, b, a);
  check(x / y, a / b, 1 / b, -a / (b * b));
  check(exp(x * y), std::exp(a * b), b * std::exp(a * b), a * std::exp(a * b));
  check(log(x), std::log(a), 1 / a, 0);
  check(log1p(x), std::log1p(a), 1 / (1 + a), 0);
  check(pow(x, -1.5), std::pow(a, -1.5), -1.5 * std::pow(a, -2.5), 0);
  const double cosh = std::cosh(b);
  CHECK_THAT(tanh(y).slopes[1], WithinRel(1 / (cosh * cosh), 8 * kEps));
  check(abs(y), std::abs(b), 0, b < 0 ? -1 : 1);
  const double root = std::hypot(a, b);
  check(sqrt(x * x + y * y), root, a / root, b / root);
  // Plain numbers are constants.
  check(2.0 * x - 1.0, 2 * a - 1, 2, 0);
  check(1.0 / x, 1 / a, -1 / (a * a), 0);
}

TEST_CASE("a dual is a plain number only if it does not move", "[device][dual]") {
  CHECK(Two(3.0) == 3.0);
  CHECK(Two::variable(3.0, 0) != 3.0);
  // Order goes by the value.
  CHECK(Two::variable(3.0, 0) <= 3.0);
  CHECK_FALSE(Two::variable(3.0, 0) < 3.0);
  CHECK(select(true, Two(1.0), Two(2.0)) == 1.0);
  CHECK(bounded(Two::variable(5.0, 0), 0.0, 1.0) == 1.0);
  CHECK(bounded(Two::variable(0.5, 0), 0.0, 1.0).slopes[0] == 1.0);
}

TEST_CASE("what is divided by an infinite number does not move with it",
          "[device][dual]") {
  const double infinite = std::numeric_limits<double>::infinity();
  const Two none = 1.0 / Two::variable(infinite, 0);
  CHECK(none == 0.0);
}

// The equations' own derivatives are written by hand, for speed: duals must find the
// same, from the currents alone.
TEST_CASE("derivatives written by hand are those that duals find", "[device][dual]") {
  const auto voltage = [](double volts) { return Two::variable(volts, 0); };
  SECTION("diode") {
    DiodeModel m;
    m.is = 1e-12;
    m.bv = 5.1;
    DiodeModelOf<Two> same;
    same.is = m.is;
    same.bv = m.bv;
    for (const double v : {-5.3, -2.0, -0.05, 0.0, 0.4, 0.75, 9.0}) {
      CAPTURE(v);
      const ConductionOf<Two> c = junction(at(same, 40.0), voltage(v));
      CHECK_THAT(c.amps.slopes[0], WithinRel(c.siemens.value, 1e-13));
      const Conduction plain = junction(at(m, 40.0), v);
      CHECK(c.amps.value == plain.amps);
      CHECK(c.siemens.value == plain.siemens);
    }
  }
  SECTION("bipolar") {
    BipolarModelOf<Two> m;
    m.vaf = 60.0;
    m.ikf = GENERATE(std::numeric_limits<double>::infinity(), 0.02);
    const auto t = at(m, 10.0);
    for (const auto& [be, bc] : {std::pair{0.65, -3.0}, std::pair{0.7, 0.6},
                                 std::pair{-0.5, 0.4}, std::pair{-1.0, -1.0}}) {
      CAPTURE(be, bc);
      const auto by_be = conduct(t, voltage(be), bc);
      CHECK_THAT(by_be.collector.slopes[0],
                 WithinRel(by_be.collector_by_be.value, 1e-13));
      CHECK_THAT(by_be.base.slopes[0], WithinRel(by_be.base_by_be.value, 1e-13));
      const auto by_bc = conduct(t, be, voltage(bc));
      CHECK_THAT(by_bc.collector.slopes[0],
                 WithinRel(by_bc.collector_by_bc.value, 1e-13));
      CHECK_THAT(by_bc.base.slopes[0], WithinRel(by_bc.base_by_bc.value, 1e-13));
    }
  }
  SECTION("MOS") {
    MosModelOf<Two> m;
    m.vto = 1.5;
    m.lambda = 0.02;
    const auto t = at(m, 60.0);
    for (const auto& [gs, ds] : {std::pair{1.0, 3.0}, std::pair{4.0, 0.5},
                                 std::pair{2.5, 6.0}, std::pair{3.0, -2.0}}) {
      CAPTURE(gs, ds);
      const auto by_gs = channel(t, voltage(gs), ds);
      CHECK_THAT(by_gs.drain.slopes[0], WithinRel(by_gs.by_gate.value, 1e-13));
      const auto by_ds = channel(t, gs, voltage(ds));
      CHECK_THAT(by_ds.drain.slopes[0], WithinRel(by_ds.by_drain.value, 1e-13));
    }
  }
  SECTION("regulator") {
    RegulatorModelOf<Two> m;
    m.resistance = 0.1;
    m.line = 2e-3;
    m.quiescent = 5e-3;
    m.is_negative = GENERATE(false, true);
    const auto r = at(m);
    const double s = r.sign.value;
    for (const double in : {9.0, 6.0, 1.0}) {
      CAPTURE(in);
      const double out = s * 4.9;
      const double amps = s * 0.2;
      const auto by_in = pass(r, voltage(s * in), out, amps);
      CHECK_THAT(by_in.error.slopes[0], WithinRel(by_in.by_in.value, 1e-12));
      const auto by_out = pass(r, s * in, voltage(out), amps);
      CHECK_THAT(by_out.error.slopes[0], WithinRel(by_out.by_out.value, 1e-12));
      const auto by_amps = pass(r, s * in, out, voltage(amps));
      CHECK_THAT(by_amps.error.slopes[0], WithinRel(by_amps.by_amps.value, 1e-12));
      const auto ground = quiescent(r, voltage(s * in));
      // 1 - tanh^2 in two ways, each to the rounding of 1.
      CHECK_THAT(
          ground.amps.slopes[0],
          WithinAbs(ground.siemens.value, 8 * kEps * 5e-3 / kRegulatorWakeVolts));
    }
  }
}

// is(T) = is exp((T/tnom - 1) eg / (n vt) + xti/n ln(T/tnom)), by hand.
TEST_CASE("a saturation current moves with temperature by its rule", "[device][dual]") {
  DiodeModel m;
  m.is = 1e-12;
  m.n = 1.7;
  // Also where nothing is moved yet: its slope is there all the same.
  const double celsius = GENERATE(27.0, -10.0, 70.0);
  CAPTURE(celsius);
  using Number = DualOf<DiodeModel>;
  const auto d = at(varied(m), Number::variable(celsius, DiodeModel::kNumbers.size()));
  const double kelvin = celsius + kZeroCelsius;
  const double nominal = m.tnom + kZeroCelsius;
  const double vt = thermal_voltage(celsius);
  const auto by = [&](const char* name) {
    return d.is.slopes[number<DiodeModel>(name)] / d.is.value;
  };
  CHECK_THAT(d.is.slopes.back() / d.is.value,
             WithinRel((m.eg / vt + m.xti) / (m.n * kelvin), 1e-13));
  CHECK_THAT(
      by("tnom"),
      WithinRel(-(kelvin * m.eg / (nominal * vt) + m.xti) / (m.n * nominal), 1e-13));
  CHECK_THAT(by("is"), WithinRel(1.0 / m.is, 1e-13));
  CHECK_THAT(by("eg"), WithinAbs((kelvin / nominal - 1.0) / (m.n * vt), 1e-13));
  CHECK_THAT(by("xti"), WithinAbs(std::log(kelvin / nominal) / m.n, 1e-13));
  CHECK_THAT(d.nvt.slopes.back(), WithinRel(m.n * vt / kelvin, 1e-13));
}

// Breakdown starts where the junction carries `ibv` at `bv`. So the current at `bv`
// moves with `ibv` alone, but for what the engine's rule for the start leaves out, is
// bv / vt.
TEST_CASE("the current at the start of breakdown moves with ibv alone",
          "[device][dual]") {
  DiodeModel m;
  m.is = 1e-14;
  m.bv = 5.1;
  m.ibv = 5e-3;
  m.nbv = 1.8;
  using Number = DualOf<DiodeModel>;
  const auto d = at(varied(m), Number::variable(50.0, DiodeModel::kNumbers.size()));
  // At minus `bv`, which moves with it.
  const auto amps = junction(d, -Number::variable(m.bv, number<DiodeModel>("bv"))).amps;
  const double left_out = m.is * m.bv / (thermal_voltage(50.0) * m.ibv);
  for (std::size_t k = 0; k < amps.slopes.size(); ++k) {
    CAPTURE(k);
    const bool is_ibv = k == number<DiodeModel>("ibv");
    const double scale = k == number<DiodeModel>("is") ? m.is : 1.0;
    CHECK_THAT(scale * amps.slopes[k], WithinAbs(is_ibv ? -1.0 : 0.0, left_out));
  }
}

// Central differences of the plain equation.
TEST_CASE("a MOS transistor's figures move with its temperature", "[device][dual]") {
  MosModel m;
  m.is_p_channel = GENERATE(false, true);
  m.vto = m.is_p_channel ? -2.0 : 2.0;
  m.kp = 0.1;
  const double celsius = GENERATE(27.0, 80.0);
  auto v = varied(m);
  v.is_p_channel = m.is_p_channel;
  using Number = DualOf<MosModel>;
  const auto t = at(v, Number::variable(celsius, MosModel::kNumbers.size()));
  const auto threshold = [&](double there) { return at(m, there).threshold; };
  const auto kp = [&](double there) { return at(m, there).kp; };
  // The band gap bends by 2e-6 V/K^2, its third derivative is below 1e-8.
  test::check_slope(threshold, celsius, 0.5, t.threshold.slopes.back(), 1e-7, 2.0);
  test::check_slope(kp, celsius, 0.5, t.kp.slopes.back(), 1e-7, 0.1);
}

}  // namespace benchproof
