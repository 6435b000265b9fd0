#include "core/device/bipolar.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>
#include <limits>

#include "core/device/constants.h"
#include "tests/unit/device/slopes.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::check_slope;
using test::kEps;
using test::kWild;

BipolarModel npn() {
  BipolarModel m;
  m.is = 1e-14;
  m.bf = 150.0;
  m.br = 4.0;
  m.nf = 1.05;
  m.nr = 1.1;
  m.vaf = 80.0;
  return m;
}

}  // namespace

// ngspice manual 39, BJT models (Gummel and Poon's charge control without its
// high-level terms: base charge 1/(1 - vbc/vaf)), in long double, above -3 nvt.
TEST_CASE("a transistor follows the published law", "[device][bipolar]") {
  const double celsius = GENERATE(-40.0, 27.0, 125.0);
  const BipolarAt t = at(npn(), celsius);
  for (const double be : {-0.055, 0.0, 0.3, 0.65, 0.8}) {
    for (const double bc : {-0.05, 0.0, 0.2, 0.6, 0.75}) {
      const long double leak = kJunctionLeak;
      const long double f =
          t.is * std::expm1(static_cast<long double>(be) / t.nvt_forward) + leak * be;
      const long double r =
          t.is * std::expm1(static_cast<long double>(bc) / t.nvt_reverse) + leak * bc;
      const long double early = 1.0L - static_cast<long double>(bc) / 80.0L;
      const BipolarConduction c = conduct(t, be, bc);
      CAPTURE(celsius, be, bc);
      // Rounding of the two exponentials: their arguments are below 45.
      const double slack =
          100.0 * kEps * static_cast<double>(std::abs(f) + std::abs(r) + t.is);
      CHECK_THAT(c.collector,
                 WithinAbs(static_cast<double>((f - r) * early - r / 4.0L), slack));
      CHECK_THAT(c.base, WithinAbs(static_cast<double>(f / 150.0L + r / 4.0L), slack));
    }
  }
}

TEST_CASE("what the parameters mean", "[device][bipolar]") {
  const BipolarAt t = at(npn(), 27.0);
  SECTION("forward gain: bf (1 + vcb/vaf), collector over base") {
    const BipolarConduction c = conduct(t, 0.7, -4.0);
    CHECK_THAT(c.collector / c.base, WithinRel(150.0 * (1.0 + 4.0 / 80.0), 1e-7));
  }
  SECTION("reverse gain: br, emitter over base with the roles changed") {
    BipolarModel m = npn();
    m.vaf = std::numeric_limits<double>::infinity();
    const BipolarConduction c = conduct(at(m, 27.0), -4.0, 0.7);
    CHECK_THAT(-(c.collector + c.base) / c.base, WithinRel(4.0, 1e-7));
  }
  SECTION("off: no more than saturation currents and leak") {
    const BipolarConduction c = conduct(t, -5.0, -20.0);
    CHECK(std::abs(c.collector) < 1e-13);
    CHECK(std::abs(c.base) < 1e-13);
  }
  SECTION("a PNP turns every sign") {
    BipolarModel m = npn();
    m.is_pnp = true;
    const BipolarAt p = at(m, 27.0);
    CHECK(p.sign == -1.0);
    CHECK(t.sign == 1.0);
    CHECK(conduct(p, 0.65, -3.0).collector == conduct(t, 0.65, -3.0).collector);
  }
}

// Gummel and Poon: the base charge is qb = 1 + IC/ikf where the collector's junction
// blocks and there is no Early effect; IC = f/qb, IB = f/bf.
TEST_CASE("the gain falls with the current by its knee", "[device][bipolar]") {
  BipolarModel m = npn();
  m.vaf = std::numeric_limits<double>::infinity();
  m.ikf = 0.1;
  const BipolarAt t = at(m, 27.0);
  for (const double be : {0.5, 0.7, 0.8, 0.9, 1.0}) {
    const BipolarConduction c = conduct(t, be, -3.0);
    CAPTURE(be, c.collector);
    // Saturation currents, leaks and rounding beside a microampere and more.
    CHECK_THAT(c.collector / c.base,
               WithinRel(150.0 / (1.0 + c.collector / 0.1), 1e-6));
  }
  // An ideal transistor has no knee.
  BipolarModel ideal = m;
  ideal.nf = ideal.nr = 1e-5;
  CHECK(at(ideal, 27.0).inverse_knee == 0.0);
}

TEST_CASE("a transistor's slopes are its derivatives", "[device][bipolar]") {
  const double celsius = GENERATE(-40.0, 27.0, 125.0);
  const BipolarAt t = at(npn(), celsius);
  const double inverse_gains = 1.0 / t.br;
  for (const double be : {-6.0, -0.5, -0.2, -0.02, 0.0, 0.4, 0.6, 0.8}) {
    for (const double bc : {-50.0, -2.0, -0.2, -0.01, 0.0, 0.3, 0.6, 0.75}) {
      CAPTURE(celsius, be, bc);
      const BipolarConduction c = conduct(t, be, bc);
      const double early = 1.0 + std::abs(bc) * t.inverse_early;
      // Slopes of the junctions alone, from the base current.
      const double f = c.base_by_be * t.bf;
      const double r = c.base_by_bc * t.br;
      const double amps = std::abs(c.collector) + std::abs(c.base) * t.bf + t.is;
      // Third derivatives: exponentials g/nvt^2, the reverse law 20/9 of that at most;
      // times the Early factor, whose slope adds 3 g/(nvt vaf), less than half.
      const double hf = 1e-4 * t.nvt_forward;
      const double hr = 1e-4 * t.nvt_reverse;
      const double third_f = 20.0 / 9.0 * f / (t.nvt_forward * t.nvt_forward);
      const double third_r = 20.0 / 9.0 * r / (t.nvt_reverse * t.nvt_reverse);
      const auto collector_be = [&](double x) { return conduct(t, x, bc).collector; };
      const auto collector_bc = [&](double x) { return conduct(t, be, x).collector; };
      const auto base_be = [&](double x) { return conduct(t, x, bc).base; };
      const auto base_bc = [&](double x) { return conduct(t, be, x).base; };
      check_slope(collector_be, be, hf, c.collector_by_be, early * third_f,
                  amps * early);
      check_slope(base_be, be, hf, c.base_by_be, third_f / t.bf, amps);
      check_slope(base_bc, bc, hr, c.base_by_bc, third_r / t.br, amps);
      // The two terms of the reverse junction may cancel in the sum of slopes: the
      // argument's rounding goes by each of them.
      const double parts = r * (early + inverse_gains) + amps * t.inverse_early;
      check_slope(collector_bc, bc, hr, c.collector_by_bc,
                  1.5 * (early + inverse_gains) * third_r,
                  amps * early + std::abs(bc) * parts);
    }
  }
}

TEST_CASE("the Early factor stops at a thousandth", "[device][bipolar]") {
  BipolarModel m = npn();
  m.vaf = 0.1;
  const BipolarAt t = at(m, 27.0);
  // 1 - vbc/vaf = 1e-3 at vbc = 0.0999 V.
  const double edge = 0.0999;
  const double before = conduct(t, 0.7, edge - 1e-12).collector;
  const double after = conduct(t, 0.7, edge + 1e-12).collector;
  // The factor's slope is 1/vaf = 10/V, the current before it some milliamperes.
  CHECK_THAT(before,
             WithinAbs(after, 1e-12 * 2 * 10.0 * conduct(t, 0.7, 0.0).collector));
  CHECK(conduct(t, 0.7, 0.3).collector_by_be > 0.0);
}

// As for diodes, with n = 1: see diode_test.cpp for the figures of the hand
// computation.
TEST_CASE("a transistor's saturation current goes with temperature",
          "[device][bipolar]") {
  BipolarModel m = npn();
  CHECK(at(m, 27.0).is == m.is);
  CHECK_THAT(at(m, 37.0).is / m.is, WithinRel(4.401808, 1e-6));
  CHECK(at(m, 85.0).bf == m.bf);
  CHECK_THAT(at(m, 37.0).nvt_forward, WithinRel(1.05 * 26.72666e-3, 1e-6));
}

TEST_CASE("any finite voltages give finite currents", "[device][bipolar]") {
  for (const double is : {1e-60, 1.0}) {
    for (const double n : {1e-6, 1.0, 100.0}) {
      for (const double vaf : {0.1, std::numeric_limits<double>::infinity()}) {
        for (const double gain : {1e-3, 1e6}) {
          for (const double celsius : {-100.0, 200.0}) {
            BipolarModel m;
            m.is = is;
            m.nf = n;
            m.nr = n;
            m.vaf = vaf;
            m.bf = gain;
            m.br = gain;
            m.ikf = gain < 1.0 ? 1e-6 : std::numeric_limits<double>::infinity();
            m.eg = 10.0;
            m.xti = 50.0;
            const BipolarAt t = at(m, celsius);
            CAPTURE(is, n, vaf, gain, celsius);
            CHECK((t.is > 0.0 && std::isfinite(t.is)));
            CHECK((t.critical > 0.0 && std::isfinite(t.critical)));
            for (const double be : kWild) {
              for (const double bc : kWild) {
                const BipolarConduction c = conduct(t, be, bc);
                const bool is_finite =
                    std::isfinite(c.collector) && std::isfinite(c.base) &&
                    std::isfinite(c.collector_by_be) &&
                    std::isfinite(c.collector_by_bc) && std::isfinite(c.base_by_be) &&
                    std::isfinite(c.base_by_bc);
                CAPTURE(be, bc);
                CHECK(is_finite);
              }
            }
          }
        }
      }
    }
  }
}

}  // namespace benchproof
