// Waveforms of nonlinear circuits against IDA (see ida.h), and the method's table
// against the one that SUNDIALS ships. Nodal witness.

#include <cstdio>  // the C header below uses FILE without it
//
#include <arkode/arkode_butcher_dirk.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <string>
#include <vector>

#include "core/nodal/tableau.h"
#include "core/nodal/transient.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/ida.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using test::HandNetwork;

/// Both are asked for errors of 1e-10 per step; some hundred steps on either side.
constexpr double kTolerance = 1e-10;
constexpr double kAgreement = 1e-6;

TransientOptions tightly() {
  TransientOptions o;
  o.relative = kTolerance;
  o.volts = kTolerance;
  o.amps = 1e-2 * kTolerance;
  return o;
}

/// Every node at every time, both ways, within a share of the largest voltage.
void check_against_ida(const Timeline& t, int points) {
  std::vector<double> times;
  // Off the corners: IDA takes no time that is nearly where it starts.
  for (int k = 0; k < points; ++k) times.push_back(t.span * (k + 0.37) / points);
  const std::vector<std::vector<double>> wanted =
      test::solve_by_ida(t, times, kTolerance, 1e-2 * kTolerance);
  const Waveform w = solve_nodal(t, times, tightly());
  UNSCOPED_INFO(w.reason);
  REQUIRE(w.status == SolveStatus::solved);
  const std::size_t nodes = t.network.structure->nodes.size();
  double swing = 0.0;
  for (const auto& row : wanted) {
    for (const double volts : row) swing = std::max(swing, std::abs(volts));
  }
  // With the default options, as exact as they promise.
  const Waveform usual = solve_nodal(t, times);
  REQUIRE(usual.status == SolveStatus::solved);
  const auto row_at = [](const Waveform& wave, double seconds) {
    const auto at = std::lower_bound(wave.seconds.begin(), wave.seconds.end(), seconds);
    REQUIRE(at != wave.seconds.end());
    REQUIRE(*at == seconds);
    return wave.row(static_cast<std::size_t>(at - wave.seconds.begin()));
  };
  for (std::size_t k = 0; k < times.size(); ++k) {
    const double* tight_row = row_at(w, times[k]);
    const double* usual_row = row_at(usual, times[k]);
    for (std::size_t node = 1; node < nodes; ++node) {
      CAPTURE(times[k], node);
      CHECK_THAT(tight_row[node], WithinAbs(wanted[k][node], kAgreement * swing));
      CHECK_THAT(usual_row[node], WithinAbs(wanted[k][node], 1e-4 * swing));
    }
  }
}

DiodeModel silicon() {
  DiodeModel m;
  m.is = 1e-9;
  m.n = 1.8;
  m.rs = 0.05;
  return m;
}

/// A sine as a table, which is what a course can be: straight between its corners.
Course sine(double volts, double hertz, double span, int corners) {
  Course c{0, {}};
  for (int k = 0; k < corners; ++k) {
    const double s = span * k / corners;
    c.corners.push_back({s, volts * std::sin(2.0 * std::numbers::pi * hertz * s)});
  }
  c.corners.push_back({span, 0.0});
  return c;
}

}  // namespace

TEST_CASE("the fourth-order method's table is the one of ARKODE", "[nodal][tableau]") {
  const Tableau ours = esdirk4();
  const ARKodeButcherTable theirs =
      ARKodeButcherTable_LoadDIRK(ARKODE_ARK436L2SA_DIRK_6_3_4);
  REQUIRE(theirs != nullptr);
  REQUIRE(theirs->stages == ours.stages);
  // Both are quotients of the same integers.
  constexpr double kRounding = 4 * std::numeric_limits<double>::epsilon();
  for (int i = 0; i < ours.stages; ++i) {
    CAPTURE(i);
    CHECK_THAT(ours.c[i], WithinAbs(theirs->c[i], kRounding));
    CHECK_THAT(ours.embedded[i], WithinAbs(theirs->d[i], kRounding));
    CHECK_THAT(ours.a[ours.stages - 1][i], WithinAbs(theirs->b[i], kRounding));
    for (int j = 0; j < ours.stages; ++j) {
      CHECK_THAT(ours.a[i][j], WithinAbs(theirs->A[i][j], kRounding));
    }
  }
  ARKodeButcherTable_Free(theirs);
}

TEST_CASE("a half-wave rectifier fills its capacitor as IDA has it",
          "[truth][transient][ida]") {
  HandNetwork hand(4);
  hand.voltage_source(1, 0, 0.0);
  hand.diode(1, 2, silicon());
  hand.resistor(2, 3, 0.1);  // of the capacitor
  hand.capacitor(3, 0, 470e-6);
  hand.resistor(2, 0, 220.0);
  Timeline t;
  t.network = hand.network();
  t.span = 60e-3;
  t.volts = {sine(12.0, 50.0, t.span, 120)};
  check_against_ida(t, 600);
}

TEST_CASE("a supply with diode, capacitors and regulator starts as IDA has it",
          "[truth][transient][ida]") {
  HandNetwork hand(10);
  hand.celsius = 25.0;
  hand.voltage_source(1, 0, 0.0);
  hand.diode(1, 2, silicon());
  hand.resistor(2, 3, 0.2);
  hand.capacitor(3, 0, 220e-6);
  RegulatorModel regulator;
  regulator.dropout = 1.7;
  regulator.limit = 0.14;
  regulator.quiescent = 3e-3;
  regulator.resistance = 0.1;
  regulator.line = 1e-3;
  regulator.line_reference = 10.0;
  hand.regulator(2, 0, 4, regulator);
  hand.resistor(4, 5, 0.5);
  hand.capacitor(5, 0, 22e-6);
  DiodeModel led;
  led.is = 1e-18;
  led.n = 2.0;
  led.rs = 3.0;
  hand.resistor(4, 6, 150.0);
  hand.diode(6, 0, led);
  hand.resistor(4, 7, 1e3);
  hand.capacitor(7, 0, 100e-9);
  BipolarModel npn;
  npn.is = 2e-14;
  npn.bf = 250.0;
  npn.br = 4.0;
  npn.vaf = 80.0;
  hand.resistor(4, 8, 1e3);
  hand.bipolar(9, 8, 0, npn);
  hand.resistor(2, 9, 240.0);
  Timeline t;
  t.network = hand.network();
  t.span = 50e-3;
  t.volts = {{0, {{0.0, 0.0}, {2e-3, 12.0}, {30e-3, 12.0}, {31e-3, 8.0}}}};
  check_against_ida(t, 500);
}

TEST_CASE("an inductor is switched off beside its diode as IDA has it",
          "[truth][transient][ida]") {
  HandNetwork hand(5);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 0.1);    // the switch
  hand.resistor(2, 3, 100.0);  // the coil's wire
  hand.inductor(3, 0, 50e-3);
  hand.diode(0, 2, silicon());
  hand.resistor(2, 4, 1e3);
  hand.capacitor(4, 0, 10e-9);
  Timeline t;
  t.network = hand.network();
  t.span = 10e-3;
  t.volts = {{0, {{0.0, 0.0}, {1e-3, 12.0}}}};
  t.ohms = {{0, {{5e-3, 0.1}, {5.001e-3, 1e8}}}};
  check_against_ida(t, 500);
  // The diode holds what the coil would throw: a few hundred millivolts below ground.
  const Waveform w = solve_nodal(t);
  for (std::size_t k = 0; k < w.seconds.size(); ++k) REQUIRE(w.row(k)[2] > -1.2);
}

}  // namespace benchproof
