#include "core/device/regulator.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>

#include "tests/unit/device/slopes.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using test::check_slope;
using test::kEps;
using test::kWild;

RegulatorModel five_volts() {
  RegulatorModel m;
  m.output = 5.0;
  m.dropout = 2.0;
  m.limit = 1.5;
  m.quiescent = 4.2e-3;
  m.resistance = 0.02;
  m.line = 1e-3;
  m.line_reference = 10.0;
  return m;
}

/// The output at which the equation holds: it is linear in out.
double output(const RegulatorModel& m, double in, double amps) {
  return -pass(m, in, 0.0, amps).error;
}

/// What the smooth corners add: up(x) - x = w^2/4x at most for x > w, and w/2 at x = 0.
/// A volt or more from a corner that is 0.25 uV, for two corners; in current 1e-10 A
/// times the stiff 1 Mohm, again w^2/4x: 2.5e-15/x V.
constexpr double kRounded = 1e-6;

}  // namespace

TEST_CASE("a regulator's ways of working", "[device][regulator]") {
  const RegulatorModel m = five_volts();
  SECTION("regulating: set voltage, line and load") {
    CHECK_THAT(output(m, 10.0, 0.1), WithinAbs(5.0 - 0.1 * 0.02, kRounded));
    // 10 V more input: 10 mV more output. 1 A more load: 20 mV less.
    CHECK_THAT(output(m, 20.0, 0.1), WithinAbs(5.01 - 0.1 * 0.02, kRounded));
    CHECK_THAT(output(m, 10.0, 1.1), WithinAbs(5.0 - 1.1 * 0.02, kRounded));
  }
  SECTION("dropping out: input less dropout") {
    CHECK_THAT(output(m, 5.5, 0.1), WithinAbs(3.5 - 0.1 * 0.02, kRounded));
  }
  SECTION("below its dropout: nothing") {
    CHECK_THAT(output(m, 0.5, 0.0), WithinAbs(0.0, kRounded));
    CHECK_THAT(output(m, -12.0, 0.0), WithinAbs(0.0, kRounded));
  }
  SECTION("at the limit: the current stays") {
    // 1 Mohm: a microampere takes a volt off.
    CHECK_THAT(output(m, 10.0, 1.5 + 3e-6), WithinAbs(5.0 - 1.5 * 0.02 - 3.0, 1e-3));
  }
  SECTION("fed from behind: no more than a few microamperes flow back") {
    CHECK_THAT(output(m, 10.0, -kRegulatorBackAmps - 7e-6), WithinAbs(12.0, 1e-3));
  }
}

TEST_CASE("a regulator's slopes are its derivatives", "[device][regulator]") {
  const RegulatorModel m = five_volts();
  for (const double in : {-5.0, 0.0, 1.9, 1.999, 2.0, 2.0005, 2.1, 4.0, 6.98, 6.997,
                          6.9975, 7.0, 12.0, 30.0}) {
    const RegulatorEquation e = pass(m, in, 3.0, 0.2);
    CAPTURE(in);
    CHECK(e.by_out == 1.0);
    // up''' stays below 1.5/w^2 (by its closed form 3 x w^2 / 2 (x^2 + w^2)^2.5,
    // largest at x = w/2: 0.43/w^2); two nested ones: the chain rule triples that at
    // most.
    const double w = kRegulatorVoltageBend;
    check_slope([&](double x) { return pass(m, x, 3.0, 0.2).error; }, in, 1e-3 * w,
                e.by_in, 4.0 / (w * w), std::abs(in) + 30.0);
  }
  // The bends in current, on a regulator whose limit is as small as they are: there
  // the rounding of the current does not drown the difference.
  RegulatorModel small = m;
  small.limit = 1e-9;
  const double w = kRegulatorCurrentBend;
  for (const double amps : {-2e-6, -1e-6 - 1e-10, -1e-6, -1e-6 + 2e-10, -1e-7, 0.0,
                            5e-10, 9e-10, 9.9e-10, 1e-9, 1.05e-9, 2e-9, 1e-7}) {
    const RegulatorEquation e = pass(small, 10.0, 5.0, amps);
    CAPTURE(amps);
    check_slope([&](double x) { return pass(small, 10.0, 5.0, x).error; }, amps,
                1e-3 * w, e.by_amps, 1.5 * kRegulatorStiff / (w * w), 20.0);
    CHECK(e.by_amps >= small.resistance);
  }
}

TEST_CASE("the quiescent current wakes with the input", "[device][regulator]") {
  const RegulatorModel m = five_volts();
  // quiescent * tanh(in / w): tanh(0.5) = 0.46211716, tanh(5) = 0.99990920 (tables; M.
  // Abramowitz, I. Stegun, "Handbook of Mathematical Functions", sec. 4.5, from
  // memory).
  const double w = kRegulatorWakeVolts;
  const double digits = 4.2e-3 * 0.5e-8;
  CHECK_THAT(quiescent(m, 0.5 * w).amps, WithinAbs(4.2e-3 * 0.46211716, digits));
  CHECK_THAT(quiescent(m, 5.0 * w).amps, WithinAbs(4.2e-3 * 0.99990920, digits));
  CHECK(quiescent(m, 0.0).amps == 0.0);
  CHECK(quiescent(m, -3.0).amps == -quiescent(m, 3.0).amps);
  for (const double in : {-20.0, -1.0, -0.01, 0.0, 0.02, 0.5, 0.98, 2.0, 5.0, 40.0}) {
    const Conduction q = quiescent(m, in);
    CAPTURE(in);
    CHECK(q.siemens >= 0.0);
    // The third derivative of tanh is largest at 0: -2.
    check_slope([&](double x) { return quiescent(m, x).amps; }, in, 1e-4 * w, q.siemens,
                2.0 * m.quiescent / (w * w * w), m.quiescent);
  }
  RegulatorModel none = m;
  none.quiescent = 0.0;
  CHECK(quiescent(none, 12.0).amps == 0.0);
}

TEST_CASE("any finite input leaves a regulator finite", "[device][regulator]") {
  for (const double in : kWild) {
    CHECK((std::isfinite(quiescent(five_volts(), in).amps) &&
           std::isfinite(quiescent(five_volts(), in).siemens)));
    for (const double out : kWild) {
      for (const double amps : kWild) {
        const RegulatorEquation e = pass(five_volts(), in, out, amps);
        CAPTURE(in, out, amps);
        CHECK((std::isfinite(e.error) && std::isfinite(e.by_in) &&
               std::isfinite(e.by_amps)));
        CHECK(e.by_amps > 0.0);
      }
    }
  }
}

TEST_CASE("a negative regulator is the mirror of a positive one", "[device]") {
  RegulatorModel mirror = five_volts();
  mirror.is_negative = true;
  for (const double in : {-3.0, 0.0, 4.0, 6.9, 7.1, 20.0}) {
    for (const double out : {0.0, 4.9, 5.1}) {
      for (const double amps : {-1e-3, 0.0, 0.5, 1.7}) {
        const RegulatorEquation e = pass(five_volts(), in, out, amps);
        const RegulatorEquation m = pass(mirror, -in, -out, -amps);
        CAPTURE(in, out, amps);
        CHECK(m.error == -e.error);
        CHECK(m.by_in == e.by_in);
        CHECK(m.by_out == e.by_out);
        CHECK(m.by_amps == e.by_amps);
      }
    }
    CHECK(quiescent(mirror, -in).amps == -quiescent(five_volts(), in).amps);
  }
}

}  // namespace benchproof
