#include "core/device/mos.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>

#include "core/device/constants.h"
#include "tests/unit/device/slopes.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::check_slope;
using test::kEps;
using test::kWild;

MosModel channel(double lambda = 0.02) {
  MosModel m;
  m.vto = 1.5;
  m.kp = 0.3;
  m.lambda = lambda;
  return m;
}

}  // namespace

// By hand from H. Shichman, D. Hodges, IEEE J. Solid-State Circuits 3 (1968) 285 (from
// memory): kp = 0.3 A/V^2, threshold 1.5 V, lambda = 0.02/V.
TEST_CASE("a MOS transistor follows the square law", "[device][mos]") {
  const MosAt t = at(channel(), 27.0);
  const double leak = kJunctionLeak;
  // Beyond the knee: 0.3/2 * 2^2 * (1 + 0.02 * 10) = 0.72 A.
  CHECK_THAT(conduct(t, 3.5, 10.0).drain, WithinRel(0.72 + 10.0 * leak, 1e-14));
  // Below it: 0.3 * (1 + 0.02 * 0.5) * 0.5 * (2 - 0.25) = 0.265125 A.
  CHECK_THAT(conduct(t, 3.5, 0.5).drain, WithinRel(0.265125, 1e-14));
  // Off: the leak alone.
  CHECK(conduct(t, 1.5, 10.0).drain == 10.0 * leak);
  CHECK(conduct(t, -20.0, 10.0).drain == 10.0 * leak);
  // Turned about: the end called drain is the lower one, and the gate counts from it.
  // vgd = 3 V: 1.5 V over the threshold; vsd = 1 V: 0.3 * 1.02 * 1 * (1.5 - 0.5).
  CHECK_THAT(conduct(t, 2.0, -1.0).drain, WithinRel(-0.306, 1e-14));
}

TEST_CASE("a MOS transistor's regions meet", "[device][mos]") {
  const MosAt t = at(channel(), 27.0);
  SECTION("at the knee, in value and slope") {
    const MosConduction below = conduct(t, 4.0, std::nextafter(2.5, 0.0));
    const MosConduction above = conduct(t, 4.0, 2.5);
    CHECK_THAT(below.drain, WithinRel(above.drain, 8 * kEps));
    CHECK_THAT(below.by_gate, WithinRel(above.by_gate, 8 * kEps));
    CHECK_THAT(below.by_drain, WithinRel(above.by_drain, 1e-13));
  }
  SECTION("at the threshold") {
    const MosConduction just = conduct(t, std::nextafter(1.5, 2.0), 5.0);
    CHECK_THAT(just.drain, WithinAbs(5.0 * kJunctionLeak, 1e-30));
    CHECK_THAT(just.by_gate, WithinAbs(0.0, 1e-15));
  }
  SECTION("where drain and source change roles") {
    const double tiny = 1e-12;
    const MosConduction up = conduct(t, 4.0, tiny);
    const MosConduction down = conduct(t, 4.0, -tiny);
    // Odd but for terms of second order: kp tiny^2.
    CHECK_THAT(up.drain, WithinAbs(-down.drain, 4.0 * 0.3 * tiny * tiny));
    CHECK_THAT(up.by_drain, WithinAbs(down.by_drain, 8.0 * 0.3 * tiny));
    CHECK_THAT(up.by_gate, WithinAbs(down.by_gate, 4.0 * 0.3 * tiny));
  }
}

TEST_CASE("turning a MOS transistor about turns its current", "[device][mos]") {
  // With the body tied to the source left out, the channel has no preferred end:
  // i(vgs, vds) = -i(vgs - vds, -vds).
  const MosAt t = at(channel(), 60.0);
  for (const double gs : {-3.0, 1.0, 2.0, 5.0, 12.0}) {
    for (const double ds : {0.0, 0.1, 1.0, 4.0, 30.0}) {
      const MosConduction a = conduct(t, gs, ds);
      const MosConduction b = conduct(t, gs - ds, -ds);
      CHECK_THAT(a.drain, WithinAbs(-b.drain, 1e-14 * (1.0 + std::abs(a.drain))));
    }
  }
}

TEST_CASE("a MOS transistor's slopes are its derivatives", "[device][mos]") {
  const double lambda = GENERATE(0.0, 0.02, 0.5);
  const MosAt t = at(channel(lambda), GENERATE(-40.0, 27.0, 125.0));
  const double h = 1e-5;
  for (const double gs : {-5.0, 1.0, 1.9, 2.5, 4.0, 12.0, 20.0}) {
    for (const double ds : {-30.0, -3.3, -0.6, -0.01, 0.01, 0.37, 3.0, 30.0}) {
      const MosConduction c = conduct(t, gs, ds);
      CAPTURE(lambda, t.threshold, gs, ds);
      // No stencil may cross a seam: all are 0.001 V away from one at least.
      const double over = (ds >= 0.0 ? gs : gs - ds) - t.threshold;
      REQUIRE(std::abs(over) > 1e-3);
      REQUIRE(std::abs(std::abs(ds) - over) > 1e-3);
      // Polynomials of at most third order: i''' <= 3 kp lambda. What is large in i:
      // kp (1 + lambda v) v (over + v).
      const double third = 6.0 * t.kp * lambda;
      const double size = std::abs(over) + std::abs(ds);
      const double terms = t.kp * (1.0 + lambda * std::abs(ds)) * size * size;
      check_slope([&](double x) { return conduct(t, x, ds).drain; }, gs, h, c.by_gate,
                  third, 4.0 * terms + t.kp * size * std::abs(gs));
      check_slope([&](double x) { return conduct(t, gs, x).drain; }, ds, h, c.by_drain,
                  third, 4.0 * terms + t.kp * size * std::abs(gs));
    }
  }
}

TEST_CASE("a p-channel transistor mirrors its threshold", "[device][mos]") {
  MosModel p = channel();
  p.is_p_channel = true;
  p.vto = -1.5;
  const MosAt t = at(p, 27.0);
  CHECK(t.sign == -1.0);
  CHECK(t.threshold == 1.5);
  MosModel depletion = channel();
  depletion.vto = -2.0;
  CHECK(at(depletion, 27.0).threshold == -2.0);
  CHECK(conduct(at(depletion, 27.0), 0.0, 10.0).drain > 0.0);
}

// By hand, kp = 0.3 A/V^2, threshold 1.5 V. Below the knee: 1 V falls across 5 ohm and
// the channel's v, 1 - v = 5 * 0.3 v (2 - v/2), the lesser root of 0.75 v^2 - 4 v + 1.
// Beyond it: i = 0.15 (2 - 2 i)^2 with 2 ohm at the source, the lesser root of 0.6 i^2
// - 2.2 i + 0.6.
TEST_CASE("resistances in series with a channel take their share of the voltage",
          "[device][mos]") {
  MosModel m = channel(0.0);
  m.rd = 5.0;
  const double volts = (4.0 - std::sqrt(13.0)) / 1.5;
  const MosAt drained = at(m, 27.0);
  CHECK_THAT(conduct(drained, 3.5, 1.0).drain, WithinRel((1.0 - volts) / 5.0, 1e-14));
  m.rd = 3.0;
  m.rs = 2.0;
  const MosAt lifted = at(m, 27.0);
  CHECK_THAT(conduct(lifted, 3.5, 30.0).drain,
             WithinAbs((2.2 - std::sqrt(3.4)) / 1.2, 30.0 * kJunctionLeak));
  // Off: the leak alone, of which the resistances take 5e-15.
  CHECK_THAT(conduct(lifted, 0.0, 12.0).drain, WithinRel(12.0 * kJunctionLeak, 1e-14));
  CHECK(conduct(lifted, 3.5, 0.0).drain == 0.0);
}

TEST_CASE("a transistor with resistances obeys its channel", "[device][mos]") {
  MosModel m = channel(GENERATE(0.0, 0.02, 0.5));
  m.kp = GENERATE(1e-3, 0.3, 60.0);
  m.rd = GENERATE(0.0, 0.016, 100.0);
  m.rs = GENERATE(0.0, 0.5, 1e4);
  const MosAt t = at(m, 60.0);
  for (const double gs : {-5.0, 1.0, 1.9, 2.5, 4.0, 12.0, 20.0}) {
    for (const double ds : {-30.0, -3.3, -0.6, -1e-7, 1e-7, 0.37, 3.0, 30.0}) {
      CAPTURE(m.kp, m.rd, m.rs, gs, ds);
      const MosConduction c = conduct(t, gs, ds);
      const MosVolts<double> inside = behind_resistances<double>(t, {gs, ds}, c.drain);
      const MosConduction alone = channel(t, inside.gs, inside.ds);
      // What the last digits of the voltages inside move, shared as every error is.
      const double share = share_behind_resistances(t, alone);
      const double rounding = 4 * kEps * (std::abs(gs) + std::abs(ds)) *
                              (std::abs(alone.by_gate) + alone.by_drain) * share;
      CHECK_THAT(c.drain + share * (alone.drain - c.drain),
                 WithinAbs(c.drain, rounding + 4 * kEps * std::abs(c.drain)));
      // The square law's corners have second derivatives of kp; the slopes are shares
      // of the channel's.
      CHECK_THAT(c.by_drain, WithinRel(share * alone.by_drain, 1e-6));
      CHECK_THAT(c.by_gate, WithinAbs(share * alone.by_gate,
                                      1e-6 * std::abs(share * alone.by_gate)));
    }
  }
}

// A. Vladimirescu, S. Liu, memorandum UCB/ERL M80/7 (from memory): mobility goes with
// T^-1.5. By hand: (398.15/300.15)^-1.5 = 0.654542.
TEST_CASE("a MOS transistor's temperature laws", "[device][mos]") {
  const double kp = at(channel(), 125.0).kp;
  CHECK_THAT(kp / 0.3, WithinRel(0.654542, 1e-6));
  CHECK(at(channel(), 27.0).threshold == 1.5);
  // Continuous at tnom, where the rule is left out.
  CHECK_THAT(at(channel(), 27.0 + 1e-7).threshold, WithinAbs(1.5, 1e-9));
  // Common practice, no source: the threshold falls by 0.5 to 4 mV per kelvin.
  for (const bool is_p : {false, true}) {
    MosModel m = channel();
    m.is_p_channel = is_p;
    m.vto = is_p ? -1.5 : 1.5;
    const double slope = (at(m, 77.0).threshold - at(m, 27.0).threshold) / 50.0;
    CAPTURE(is_p, slope);
    CHECK(slope < -0.5e-3);
    CHECK(slope > -4e-3);
  }
}

TEST_CASE("any finite MOS voltages give finite currents", "[device][mos]") {
  for (const double kp : {1e-12, 1e6}) {
    for (const double vto : {-1e3, 1e3}) {
      for (const double celsius : {-100.0, 200.0}) {
        MosModel m;
        m.kp = kp;
        m.vto = vto;
        m.lambda = 10.0;
        m.rd = vto > 0.0 ? 0.0 : 1e-3;
        m.rs = kp > 1.0 ? 0.0 : 10.0;
        m.tnom = -celsius + 100.0;
        const MosAt t = at(m, celsius);
        for (const double gs : kWild) {
          for (const double ds : kWild) {
            const MosConduction c = conduct(t, gs, ds);
            CAPTURE(kp, vto, gs, ds);
            CHECK((std::isfinite(c.drain) && std::isfinite(c.by_gate) &&
                   std::isfinite(c.by_drain)));
          }
        }
      }
    }
  }
}

}  // namespace benchproof
