#include "core/catalogue/fit/fit_check.h"
#include "tests/unit/catalogue/thermal.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace benchproof {
namespace {

using Catch::Matchers::WithinRel;

constexpr double kRounding =
    1e-12;  // A dozen operations on doubles, with a wide berth.

Figure figure(double value) { return {value, Unit::none, Mark::given, "test", ""}; }

const FitPoint& row(const std::vector<FitPoint>& points, std::string_view name) {
  for (const FitPoint& p : points)
    if (p.name == name) return p;
  FAIL("no row " << name);
  return points.front();
}

TEST_CASE("a diode's model is held against its points", "[catalogue][fit]") {
  Type type{.name = "d", .kind = KindId::diode};
  type.points = {{1.0, 0.9, Mark::given, "test"}};
  type.model = DiodeModel{.is = 1e-9, .n = 1.5, .rs = 0.05, .tnom = 25.0};
  const auto points = fit_points(type);
  REQUIRE(points.size() == 1);
  // V = n vt ln(I / is + 1) + I rs, written out once more.
  const double volts = 1.5 * kVt * std::log(1.0 / 1e-9 + 1) + 0.05;
  CHECK(points[0].published == 0.9);
  CHECK_THAT(points[0].fitted, WithinRel(volts, kRounding));
  CHECK_THAT(error(points[0]), WithinRel(volts / 0.9 - 1, 1e-9));
}

TEST_CASE("a zener's model is held against breakdown and both slopes",
          "[catalogue][fit]") {
  Type type{.name = "z", .kind = KindId::zener};
  type.figures = {{"voltage", figure(5.0)},
                  {"test_current", figure(5e-3)},
                  {"slope", figure(30)},
                  {"knee_slope", figure(500)},
                  {"knee_current", figure(1e-3)}};
  type.model = DiodeModel{.is = 1e-15,
                          .n = 1.5,
                          .rs = 2.0,
                          .bv = 4.9,
                          .ibv = 5e-3,
                          .nbv = 4.0,
                          .tnom = 25.0};
  const auto points = fit_points(type);
  // V = bv + I rs at ibv; dV/dI = nbv vt / I + rs.
  CHECK_THAT(row(points, "breakdown at 5.00 mA").fitted,
             WithinRel(4.9 + 5e-3 * 2.0, kRounding));
  CHECK_THAT(row(points, "slope at 5.00 mA").fitted,
             WithinRel(4.0 * kVt / 5e-3 + 2.0, kRounding));
  CHECK_THAT(row(points, "slope at 1.00 mA").fitted,
             WithinRel(4.0 * kVt / 1e-3 + 2.0, kRounding));
  REQUIRE(worst(points) != nullptr);
  CHECK(worst(points)->name == "slope at 1.00 mA");
}

TEST_CASE("transistors' models are held against their sheets", "[catalogue][fit]") {
  Type bipolar{.name = "q", .kind = KindId::transistor};
  bipolar.figures = {{"base_volts", figure(0.7)}, {"base_volts_current", figure(2e-3)}};
  bipolar.model = BipolarModel{.is = 2e-14, .tnom = 25.0};
  CHECK_THAT(fit_points(bipolar)[0].fitted,
             WithinRel(kVt * std::log(2e-3 / 2e-14 + 1), kRounding));

  Type mos{.name = "m", .kind = KindId::mosfet};
  mos.figures = {{"on_resistance", figure(0.2)},
                 {"on_gate", figure(10.0)},
                 {"on_current", figure(5.0)}};
  MosModel model;
  model.is_p_channel = true;
  model.vto = -4.0;
  model.kp = 0.8;
  mos.model = model;
  const double ohms = fit_points(mos)[0].fitted;
  // Put back into ID = kp ((VGS - vto) VDS - VDS^2 / 2).
  const double volts = 5.0 * ohms;
  CHECK_THAT(0.8 * (6.0 * volts - volts * volts / 2), WithinRel(5.0, 1e-9));
  mos.figures.erase("on_current");
  CHECK_THAT(fit_points(mos)[0].fitted, WithinRel(1 / (0.8 * 6.0), kRounding));
}

TEST_CASE("transistors' models are held against their sheets' further points",
          "[catalogue][fit]") {
  const Catalogue catalogue = built_in_catalogue();
  const auto of = [&](KindId kind, const char* name) {
    const Type* type = catalogue.find(kind, name);
    REQUIRE(type != nullptr);
    return fit_points(*type);
  };
  // onsemi P2N2222A: 0.3 V at 150 mA with 15 mA, 1.0 V at 500 mA with 50 mA: the first
  // sets the collector's resistance, the second is near.
  const auto small = of(KindId::transistor, "P2N2222A");
  CHECK_THAT(row(small, "saturation at 150 mA").fitted, WithinRel(0.3, 1e-6));
  CHECK(row(small, "saturation at 500 mA").fitted > 0.8);
  // NXP PMBT2222A: a gain of 50 at 1 mA, 40 at 500 mA.
  CHECK_THAT(row(small, "gain at 500 mA").fitted, WithinRel(40.0, 1e-9));
  CHECK_THAT(row(small, "gain at 1.00 mA").fitted, WithinRel(50.0, 1e-3));
  // 5.0 ohm at 10 V, 500 mA of a model made from 6.0 ohm at 4.5 V, 75 mA.
  const auto low = of(KindId::mosfet, "2N7000");
  CHECK_THAT(row(low, "on resistance at 10.0 V").fitted, WithinRel(5.0, 1e-6));
}

TEST_CASE("a type without a model has nothing to be held against", "[catalogue][fit]") {
  const Type lamp{.name = "l", .kind = KindId::lamp};
  CHECK(fit_points(lamp).empty());
  CHECK(worst(fit_points(lamp)) == nullptr);
}

TEST_CASE("the built-in models meet what they were made from", "[catalogue][fit]") {
  const Catalogue catalogue = built_in_catalogue();
  for (const Type& type : catalogue.types()) {
    const auto points = fit_points(type);
    for (const FitPoint& p : points) {
      CAPTURE(type.name, p.name);
      // Knees are published maxima that an exponential stays below, and a soft zener's
      // forward voltage comes out above (see reference/parts/README.md). A transistor's
      // further points are bounds of which the model passes none.
      const bool is_bound = p.name.starts_with("gain") ||
                            p.name.starts_with("saturation") ||
                            (p.name.starts_with("on resistance") && &p != &points[0]);
      if (type.kind == KindId::zener && p.name.starts_with("slope")) {
        CHECK(error(p) < 1e-6);
      } else if (type.kind == KindId::zener && p.name.starts_with("forward")) {
        CHECK(error(p) > -1e-6);
      } else if (is_bound) {
        CHECK(error(p) < 1e-5);
      } else {
        CHECK(std::abs(error(p)) < 1e-5);
      }
    }
  }
}

}  // namespace
}  // namespace benchproof
