#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/check/agree/agreement.h"
#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"
#include "spice/session/witness.h"
#include "tests/truth/hand_network.h"

// The transistor of hand analysis, as reference/worked/README.md builds it, through
// whole families of textbook bias circuits: both witnesses must find what the algebra
// of hand analysis says (constant vbe, constant gain; common practice, no source). What
// the ideal junctions add, n kT/q ln(I/is), stays under 8 uV up to 10 A.

namespace benchproof {
namespace {

using test::HandNetwork;

constexpr double kVbe = 0.7;
constexpr double kJunctionVolts = 8e-6;

BipolarModel ideal(double gain, bool is_pnp = false) {
  BipolarModel m;
  m.is_pnp = is_pnp;
  m.is = 1e-12;
  m.bf = gain;
  m.br = 1.0;
  m.nf = 1e-5;
  m.nr = 1e-5;
  return m;
}

EngineSession& engine() {
  static EngineSession session(
      {.worker_path = BENCHPROOF_BIN_DIR "/benchproof-worker"});
  return session;
}

/// Both solve it, agree, and obey the equations.
Solution both(const HandNetwork& hand) {
  const Network network = hand.network();
  Solution nodal = solve_nodal(network);
  REQUIRE(nodal.status == SolveStatus::solved);
  const Solution by_engine = solve_with_engine(engine(), network);
  REQUIRE(by_engine.status == SolveStatus::solved);
  const Agreement a = agree(Circuit{}, network, by_engine, nodal);
  INFO(a.reason);
  CHECK(a.agrees);
  return nodal;
}

}  // namespace

TEST_CASE("a stiff base and an emitter resistor", "[truth][ideal]") {
  const double vb = GENERATE(2.0, 3.0, 4.0, 5.0);
  const double re = GENERATE(1e3, 2.2e3, 3.3e3);
  const double rc = GENERATE(470.0, 4.7e3);
  const double gain = GENERATE(50.0, 200.0);
  const bool is_in_emitter = GENERATE(false, true);  // where the 0.7 V stand
  CAPTURE(vb, re, rc, gain, is_in_emitter);
  HandNetwork hand(6);  // 1 supply, 2 base source, 3 collector
  hand.voltage_source(1, 0, 15.0);
  hand.voltage_source(2, 0, vb);
  hand.resistor(1, 3, rc);
  if (is_in_emitter) {  // 4 emitter, 5 below the 0.7 V
    hand.voltage_source(4, 5, kVbe);
    hand.bipolar(3, 2, 4, ideal(gain));
  } else {  // 4 base, 5 emitter
    hand.voltage_source(2, 4, kVbe);
    hand.bipolar(3, 4, 5, ideal(gain));
  }
  hand.resistor(5, 0, re);
  const Solution s = both(hand);
  const double emitter = (vb - kVbe) / re;
  const double active = 15.0 - emitter * gain / (gain + 1.0) * rc;
  const bool is_active = active > vb - (is_in_emitter ? 0.0 : kVbe);
  const double off = kJunctionVolts / re;
  CHECK(std::abs(-s.currents.bipolars[0][2] - emitter) <= off);
  if (is_active) CHECK(std::abs(s.volts[3] - active) <= off * rc + kJunctionVolts);
}

// A milliohm in the base lead puts rounding of a picoampere, times the gain, on the
// collector's current: steps that never shrink, and a solution all the same.
TEST_CASE("a milliohm in the base lead", "[truth][ideal]") {
  HandNetwork hand(7);  // 1 supply, 2 base source, 3 base, 4 collector, 5 emitter
  hand.voltage_source(1, 0, 15.0);
  hand.voltage_source(2, 0, 5.0);
  hand.resistor(2, 3, 1e-3);
  hand.resistor(1, 4, 4.7e3);
  hand.voltage_source(5, 6, kVbe);
  hand.resistor(6, 0, 1e3);
  hand.bipolar(4, 3, 5, ideal(50.0));
  const Network network = hand.network();
  const Solution nodal = solve_nodal(network);
  REQUIRE(nodal.status == SolveStatus::solved);
  CHECK(agree(Circuit{}, network, solve_with_engine(engine(), network), nodal).agrees);
}

TEST_CASE("a PNP with its base at ground", "[truth][ideal]") {
  const double supply = GENERATE(5.0, 10.0, 15.0);
  const double re = GENERATE(1e3, 2e3, 4.7e3);
  const double rc = GENERATE(470.0, 1e3);
  const double gain = GENERATE(50.0, 100.0);
  CAPTURE(supply, re, rc, gain);
  HandNetwork hand(6);  // 1 plus, 2 emitter, 3 base, 4 collector, 5 minus
  hand.voltage_source(1, 0, supply);
  hand.voltage_source(5, 0, -supply);
  hand.voltage_source(3, 0, kVbe);
  hand.resistor(1, 2, re);
  hand.resistor(4, 5, rc);
  hand.bipolar(4, 3, 2, ideal(gain, true));
  const Solution s = both(hand);
  CHECK(std::abs(s.currents.bipolars[0][2] - (supply - kVbe) / re) <=
        kJunctionVolts / re);
}

TEST_CASE("a Darlington follower", "[truth][ideal]") {
  const double vb = GENERATE(4.0, 6.0, 8.0);
  const double load = GENERATE(10.0, 46.0, 100.0, 1e3);
  const double gain = GENERATE(50.0, 100.0);
  CAPTURE(vb, load, gain);
  // 1 supply, 2 input, 3 first base, 4 middle, 5 second base, 6 out
  HandNetwork hand(7);
  hand.voltage_source(1, 0, 12.0);
  hand.voltage_source(2, 0, vb);
  hand.voltage_source(2, 3, kVbe);
  hand.voltage_source(4, 5, kVbe);
  hand.resistor(6, 0, load);
  hand.bipolar(1, 3, 4, ideal(gain));
  hand.bipolar(1, 5, 6, ideal(gain));
  const Solution s = both(hand);
  CHECK(std::abs(s.volts[6] - (vb - 2.0 * kVbe)) <= 2.0 * kJunctionVolts);
}

TEST_CASE("a mirror and a differential pair", "[truth][ideal]") {
  const double gain = GENERATE(50.0, 100.0, 1e6);
  HandNetwork mirror(5);  // 1 supply, 2 reference, 3 output, 4 base
  const double r = GENERATE(1e3, 9.3e3);
  mirror.voltage_source(1, 0, 10.0);
  mirror.resistor(1, 2, r);
  mirror.resistor(1, 3, 100.0);
  mirror.voltage_source(2, 4, kVbe);
  mirror.bipolar(2, 4, 0, ideal(gain));
  mirror.bipolar(3, 4, 0, ideal(gain));
  const Solution s = both(mirror);
  const double reference = (10.0 - kVbe) / r;
  CHECK(std::abs(s.currents.bipolars[1][0] - reference * gain / (gain + 2.0)) <=
        kJunctionVolts / r + 1e-9 * reference);
}

}  // namespace benchproof
