#include "core/device/diode.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>
#include <limits>

#include "core/device/constants.h"
#include "core/device/exponential.h"
#include "tests/unit/device/slopes.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::check_slope;
using test::kEps;
using test::kWild;

DiodeModel zener() {
  DiodeModel m;
  m.is = 1e-12;
  m.n = 1.3;
  m.bv = 5.1;
  m.ibv = 5e-3;
  m.nbv = 1.8;
  m.eg = 1.15;
  m.xti = 3.0;
  return m;
}

/// The greatest rounding of exp(x): half a unit from the exponential, and the rounding
/// of x = v / nvt carried through it.
double of_exp(double x) { return (4.0 + 2.0 * std::abs(x)) * kEps; }

}  // namespace

// NIST CODATA: k/q = 8.617333262e-5 eV/K, exact since 2019 (from memory). The constants
// of 2014 differ from it by parts in 1e7, as constants.h says.
TEST_CASE("the thermal voltage is k T / q", "[device]") {
  CHECK_THAT(thermal_voltage(26.85), WithinRel(8.617333262e-5 * 300.0, 6e-7));
  CHECK_THAT(thermal_voltage(-273.15), WithinAbs(0.0, 1e-18));
}

// ngspice manual 39, section 7.3, equation 7.1, in long double.
TEST_CASE("a junction follows the published law", "[device][diode]") {
  const double celsius = GENERATE(-40.0, 27.0, 125.0);
  const DiodeAt d = at(zener(), celsius);
  const long double nvt = d.nvt;
  for (const double v : {-7.5, -6.0, -5.0, -3.0, -1.0, -0.3, -0.12, -0.05, -1e-6, 0.0,
                         1e-9, 1e-3, 0.1, 0.4, 0.7, 0.9}) {
    const long double x = v;
    long double law = 0;
    auto steep = static_cast<double>(x / nvt);
    if (v >= -3.0 * d.nvt) {
      law = d.is * std::expm1(x / nvt);
    } else if (v > -d.breakdown) {
      law = -d.is * (1.0L + std::pow(3.0L * nvt / (std::exp(1.0L) * x), 3));
    } else {
      steep = (d.breakdown + v) / d.nvt_breakdown;
      law = -d.is *
            std::exp(-(static_cast<long double>(d.breakdown) + x) / d.nvt_breakdown);
    }
    law += static_cast<long double>(kJunctionLeak) * x;
    CAPTURE(celsius, v);
    const double size = std::abs(static_cast<double>(law)) + d.is;
    CHECK_THAT(junction(d, v).amps,
               WithinAbs(static_cast<double>(law), of_exp(steep) * size));
  }
}

// By hand: is = 1e-14 A at 27 C, n = 1, kT/q = 25.864917 mV (1.38064852e-23 J/K *
// 300.15 K / 1.6021766208e-19 C). 0.6 V / kT/q = 23.197445; e^23.197445 = 1.187196e10.
TEST_CASE("a diode at 0.6 V by hand", "[device][diode]") {
  DiodeModel m;
  const DiodeAt d = at(m, 27.0);
  CHECK_THAT(d.nvt, WithinAbs(25.864917e-3, 0.5e-9));
  // Six places of the exponent: 0.5e-6 of the current, and seven digits of it.
  CHECK_THAT(junction(d, 0.6).amps, WithinRel(1.187196e-4, 1.5e-6));
  // "60 mV a decade" of every text book: nvt ln 10 = 59.556172 mV here.
  CHECK_THAT(junction(d, 0.6 + 59.556172e-3).amps / junction(d, 0.6).amps,
             WithinRel(10.0, 1e-6));
}

TEST_CASE("breakdown carries ibv at bv", "[device][diode]") {
  // Manual, algorithm 7.1: the start of breakdown is placed so. The junction itself
  // leaves out the terms - 1 + x/vt of saturation, 1e-7 of ibv here, and our leak.
  const DiodeModel m = zener();
  for (const double celsius : {-40.0, 27.0, 85.0}) {
    const DiodeAt d = at(m, celsius);
    const double saturation =
        d.is * (1.0 + d.breakdown / thermal_voltage(celsius)) + kJunctionLeak * m.bv;
    CHECK_THAT(junction(d, -m.bv).amps, WithinAbs(-m.ibv, saturation + 1e-12 * m.ibv));
    CHECK(d.breakdown < m.bv);
  }
  SECTION("an ibv below the saturation current starts it at bv") {
    DiodeModel weak = m;
    weak.ibv = 1e-13;
    CHECK(at(weak, 27.0).breakdown == m.bv);
  }
  SECTION("without bv there is none") {
    DiodeModel plain;
    const DiodeAt d = at(plain, 27.0);
    CHECK(std::isinf(d.breakdown));
    CHECK_THAT(junction(d, -1e4).amps,
               WithinRel(-plain.is - 1e4 * kJunctionLeak, 1e-12));
  }
}

TEST_CASE("a junction's slope is its derivative", "[device][diode]") {
  const double celsius = GENERATE(-40.0, 27.0, 125.0);
  for (const DiodeModel& m : {zener(), DiodeModel{}}) {
    const DiodeAt d = at(m, celsius);
    CAPTURE(celsius, d.breakdown);
    for (const double v : {-7.0, -5.0, -4.0, -1.0, -0.3, -0.2, -0.05, -0.01, -1e-9, 0.0,
                           1e-9, 0.02, 0.3, 0.6, 0.8, 1.0}) {
      const double bend = v <= -d.breakdown ? d.nvt_breakdown : d.nvt;
      const double h = 1e-4 * bend;
      const Conduction c = junction(d, v);
      // Exponentials: f''' = f'/bend^2. The reverse law goes with v^-3, so that
      // f''' = 20 f'/v^2, with |v| > 3 nvt. 1.001: over the width of the step.
      const bool is_reverse = v < -3.0 * d.nvt && v > -d.breakdown;
      const double own = c.siemens - kJunctionLeak;
      const double third =
          1.001 * own * (is_reverse ? 20.0 / (v * v) : 1 / bend / bend);
      check_slope([&](double x) { return junction(d, x).amps; }, v, h, c.siemens, third,
                  std::abs(c.amps) + d.is);
    }
  }
}

TEST_CASE("a junction's branches meet", "[device][diode]") {
  const DiodeAt d = at(zener(), GENERATE(-40.0, 27.0, 125.0));
  const double knee = -3.0 * d.nvt;
  const double below = std::nextafter(knee, -1.0);
  // exp(-3) - 1 = -0.9502 and -(1 + (1/-e)^3) = -0.9502: the law is made to meet there,
  // in value, and in slope: exp(-3)/nvt on both sides.
  CHECK_THAT(junction(d, below).amps,
             WithinAbs(junction(d, knee).amps, 8 * kEps * d.is));
  CHECK_THAT(junction(d, below).siemens, WithinRel(junction(d, knee).siemens, 1e-14));
  // At breakdown the exponential begins at -is, where the other branch still carries
  // the rest of its cube (see diode.h).
  const double edge = -d.breakdown;
  const double above = std::nextafter(edge, 0.0);
  const double rest = d.is * std::pow(3.0 * d.nvt / (std::exp(1.0) * d.breakdown), 3.0);
  CHECK_THAT(junction(d, edge).amps - junction(d, above).amps,
             WithinAbs(-rest, 8 * kEps * (d.is + kJunctionLeak * d.breakdown)));
  CHECK(rest < 1e-4 * d.is);
}

TEST_CASE("a junction's current rises with its voltage", "[device][diode]") {
  const DiodeAt d = at(zener(), 27.0);
  double last = -std::numeric_limits<double>::infinity();
  for (int k = -1000; k <= 200; ++k) {
    const double v = 0.0071 * k;
    const Conduction c = junction(d, v);
    CAPTURE(v);
    // The branches' seam at breakdown, see above, is the one place where it does not.
    const bool is_seam = v > -d.breakdown && v - 0.0071 <= -d.breakdown;
    if (!is_seam) CHECK(c.amps > last);
    CHECK(c.siemens >= kJunctionLeak);
    last = c.amps;
  }
}

// The rule of the manual, section 7.3, by hand: silicon, n = 1, eg = 1.11 eV, xti = 3,
// from 300.15 K to 310.15 K: (310.15/300.15)^3 = 1.103317; (310.15/300.15 - 1) * 1.11 /
// 26.726650 mV = 1.383694, e^1.383694 = 3.989613. Product 4.401808: a little more than
// the "doubles every 5 K" of silicon text books (a factor 4 in 10 K).
TEST_CASE("the saturation current goes with temperature", "[device][diode]") {
  DiodeModel m;
  m.is = 1e-14;
  CHECK(at(m, 27.0).is == 1e-14);
  CHECK_THAT(at(m, 37.0).is / 1e-14, WithinRel(4.401808, 1e-6));
  SECTION("forward voltage at constant current falls about 2 mV per kelvin") {
    // Common practice, no source: -1.6 to -2.4 mV/K at a milliampere.
    const auto volts = [&](double celsius) {
      const DiodeAt d = at(m, celsius);
      return d.nvt * std::log1p(1e-3 / d.is);
    };
    const double slope = (volts(37.0) - volts(27.0)) / 10.0;
    CHECK(slope < -1.6e-3);
    CHECK(slope > -2.4e-3);
  }
}

TEST_CASE("series resistance is solved for exactly", "[device][diode]") {
  for (const double rs : {1e-9, 0.01, 1.0, 1e3, 1e9}) {
    for (const double n : {1e-6, 1e-5, 0.5, 1.0, 2.0, 10.0}) {
      DiodeModel m = zener();
      m.rs = rs;
      m.n = n;
      const DiodeAt d = at(m, 27.0);
      DiodeAt bare = d;
      bare.rs = 0.0;
      for (const double v : {-100.0, -8.0, -5.2, -4.9, -1.0, -1e-3, 0.0, 1e-6, 0.3, 0.7,
                             2.0, 24.0, 1000.0}) {
        CAPTURE(rs, n, v);
        const Conduction c = conduct(d, v);
        const double u = v - rs * c.amps;
        // v = u + rs i(u) is met if i(u) is the current found. u here is known to the
        // rounding of v and rs i, `in_volts`, and i(u) to that of its exponent; what is
        // left in volts stays within those, times what a volt of u makes of rs i.
        const Conduction there = junction(bare, u);
        const double share =
            of_exp(u < 0.0 ? (std::abs(u) + d.breakdown) / d.nvt_breakdown : u / d.nvt);
        const double in_amps = share * (std::abs(c.amps) + d.is);
        const double in_volts =
            4.0 * kEps * (std::abs(v) + rs * std::abs(c.amps)) + rs * in_amps;
        const double excess = u + rs * there.amps - v;
        CHECK(std::abs(excess) <= in_volts * (1.0 + rs * there.siemens));
        CHECK(std::abs(u) <= std::abs(v) + in_volts);
        CHECK(c.siemens <= 1.0 / rs);
        CHECK(c.siemens > 0.0);
      }
    }
  }
}

TEST_CASE("one voltage after the other gives what each alone does", "[device][diode]") {
  for (const double rs : {0.0, 1e-3, 0.7, 1e4}) {
    for (const double n : {1e-4, 1.0, 2.0}) {
      DiodeModel m = zener();
      m.rs = rs;
      m.n = n;
      m.nbv = n;
      const DiodeAt d = at(m, 27.0);
      Conductor one_after_the_other(d);
      CAPTURE(rs, n);
      // Slowly up, in leaps, and from the deepest breakdown to the other end.
      for (int k = 0; k < 4000; ++k) {
        const double volts =
            k < 2000 ? -8.0 + 0.01 * k : 7.0 * std::sin(0.37 * k) * std::cos(1.9 * k);
        const double alone = conduct(d, volts).amps;
        // What rounding does to the exponent, and across the resistance.
        const double share = of_exp((std::abs(volts) + d.breakdown) / d.nvt);
        const double across = rs > 0.0 ? 8.0 * kEps * std::abs(volts) / rs : 0.0;
        CHECK_THAT(one_after_the_other.amps(volts),
                   WithinAbs(alone, share * (std::abs(alone) + d.is) + across));
      }
      for (const double volts : kWild)
        CHECK(std::isfinite(one_after_the_other.amps(volts)));
    }
  }
}

TEST_CASE("the slope of a diode with resistance is its derivative", "[device][diode]") {
  DiodeModel m = zener();
  m.rs = GENERATE(0.02, 5.0, 300.0);
  const DiodeAt d = at(m, 27.0);
  for (const double v : {-9.0, -5.3, -3.0, -0.2, 0.0, 0.2, 0.6, 0.75, 1.2, 10.0}) {
    const Conduction c = conduct(d, v);
    const double bend = v < -d.breakdown ? d.nvt_breakdown : d.nvt;
    const double h = 1e-4 * bend;
    // With g the junction's slope, i' = g/(1 + rs g); two more differentiations give
    // terms of g/bend^2 with factors (1 + rs g)^-3 .. ^-5, at most 3 of them: |i'''| <=
    // 3 g_junction / bend^2 / (1 + rs g)^3 <= 3 i' / bend^2. In reverse see `junction`.
    const double third = 3.0 * 20.0 / 9.0 * c.siemens / (bend * bend);
    check_slope([&](double x) { return conduct(d, x).amps; }, v, h, c.siemens, third,
                // The inner iteration ends within rounding of v, times the slope.
                std::abs(c.amps) + d.is + 4.0 * c.siemens * std::abs(v));
  }
}

TEST_CASE("any finite voltage gives finite results", "[device][diode]") {
  // Ends of the ranges that a description may give, see core/catalogue/kind.cpp.
  for (const double is : {1e-60, 1e-14, 1.0}) {
    for (const double n : {1e-6, 1.0, 100.0}) {
      for (const double bv :
           {1e-300, 0.5, 1e6, std::numeric_limits<double>::infinity()}) {
        for (const double celsius : {-100.0, 27.0, 200.0}) {
          for (const double rs : {0.0, 1e-9, 1e9}) {
            DiodeModel m;
            m.is = is;
            m.n = n;
            m.bv = bv;
            m.ibv = bv > 1.0 ? 1e3 : 1e-300;
            m.nbv = n == 1e-6 ? 1e-6 : 1e3;
            m.eg = 10.0;
            m.xti = 50.0;
            m.rs = rs;
            const DiodeAt d = at(m, celsius);
            CAPTURE(is, n, bv, celsius, rs);
            CHECK(std::isfinite(d.is));
            CHECK(d.is > 0.0);
            CHECK(std::isfinite(d.critical));
            CHECK(d.critical > 0.0);
            for (const double v : kWild) {
              const Conduction j = junction(d, v);
              const Conduction c = conduct(d, v);
              CAPTURE(v);
              CHECK((std::isfinite(j.amps) && std::isfinite(j.siemens)));
              CHECK((std::isfinite(c.amps) && std::isfinite(c.siemens)));
              CHECK(c.siemens > 0.0);
            }
          }
        }
      }
    }
  }
}

TEST_CASE("the smallest saturation current still conducts", "[device][diode]") {
  // i = is exp(v/nvt) solved for v: 1 A through is = 1e-60 A takes nvt ln(1e60).
  DiodeModel m;
  m.is = 1e-60;
  const DiodeAt d = at(m, 27.0);
  const double v = d.nvt * std::log(1e60);
  CHECK_THAT(junction(d, v).amps, WithinRel(1.0, of_exp(v / d.nvt)));
}

TEST_CASE("the exponential goes on as its tangent", "[device][diode]") {
  const double edge = kLargestExponent;
  const Conduction last = bounded_exp(edge);
  const Conduction beyond = bounded_exp(edge + 1.0);
  CHECK(last.amps == std::exp(edge));
  CHECK_THAT(beyond.amps, WithinRel(2.0 * last.amps, 4 * kEps));
  CHECK(beyond.siemens == last.siemens);
}

}  // namespace benchproof
