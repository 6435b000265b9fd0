#include "core/nodal/nodal_solver.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "core/device/constants.h"
#include "core/network/equations.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/random_network.h"

namespace benchproof {
namespace {

using Catch::Contains;
using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;
using test::random_network;

constexpr std::uint64_t kSolverSeed = 7;

/// Two answers to one question, each settled to 1e-9 of its unknowns (NodalOptions) by
/// a step that squares what was left: ten times that between them.
void check_same(const Solution& a, const Solution& b, std::size_t nodes) {
  for (std::size_t k = 0; k < nodes; ++k) {
    CHECK_THAT(a.volts[k], WithinAbs(b.volts[k], 1e-9 + 1e-8 * std::abs(b.volts[k])));
  }
}

/// The network with `more` nodes beside it that have nothing to do with it.
Network padded(const Network& network, int more) {
  Structure s = *network.structure;
  Network wide = network;
  for (int k = 0; k < more; ++k) {
    const int node = static_cast<int>(s.nodes.size());
    s.nodes.push_back("pad" + std::to_string(k));
    s.resistors.push_back({node, k == 0 ? 0 : node - 1, {}});
    wide.values.ohms.push_back(1e3);
  }
  wide.structure = std::make_shared<const Structure>(std::move(s));
  return wide;
}

/// A diode clipper, a transistor switch, a MOS switch and a regulator in a row.
HandNetwork row() {
  HandNetwork hand(9);
  hand.voltage_source(1, 0, 12.0);
  RegulatorModel regulator;
  regulator.quiescent = 4e-3;
  regulator.resistance = 0.02;
  hand.regulator(1, 0, 2, regulator);
  hand.resistor(2, 3, 330.0);
  DiodeModel led;
  led.is = 1e-18;
  led.n = 2.0;
  led.rs = 5.0;
  hand.diode(3, 0, led);
  hand.resistor(2, 4, 10e3);
  BipolarModel npn;
  npn.is = 1e-14;
  npn.bf = 200.0;
  npn.vaf = 80.0;
  hand.bipolar(5, 4, 0, npn);
  hand.resistor(1, 5, 1e3);
  MosModel fet;
  fet.vto = 1.8;
  fet.kp = 0.2;
  hand.mosfet(6, 5, 0, fet);
  hand.resistor(1, 6, 220.0);
  DiodeModel zener;
  zener.is = 1e-12;
  zener.bv = 5.6;
  zener.ibv = 5e-3;
  hand.resistor(1, 7, 470.0);
  hand.diode(0, 7, zener);
  hand.resistor(7, 8, 1e3);
  hand.structure.inductors.push_back({8, 3, {}});
  hand.values.coils.push_back({1e-3});
  hand.structure.capacitors.push_back({7, 0, {}});
  hand.values.farads.push_back(1e-6);
  return hand;
}

}  // namespace

TEST_CASE("options and structures are looked at", "[nodal][check]") {
  const Network network = row().network();
  const auto with = [&](auto change) {
    NodalOptions options;
    change(options);
    return NodalSolver(network.structure, options);
  };
  CHECK_NOTHROW(with([](NodalOptions&) {}));
  using Wrong = std::invalid_argument;
  CHECK_THROWS_AS(with([](NodalOptions& o) { o.relative = 0.0; }), Wrong);
  CHECK_THROWS_AS(with([](NodalOptions& o) { o.volts = -1.0; }), Wrong);
  CHECK_THROWS_AS(with([](NodalOptions& o) { o.amps = std::nan(""); }), Wrong);
  CHECK_THROWS_AS(with([](NodalOptions& o) { o.iterations = 0; }), Wrong);
  CHECK_THROWS_AS(with([](NodalOptions& o) { o.continuation = -5; }), Wrong);
  CHECK_THROWS_AS(NodalSolver(nullptr), Wrong);
  CHECK_THROWS_AS(NodalSolver(std::make_shared<const Structure>()), Wrong);
  // Equal elements, but another structure object than the solver was made for.
  NodalSolver solver(network.structure);
  CHECK_THROWS_AS(solver.operating_point(row().network()), Wrong);
}

TEST_CASE("a start that fits no solution of the structure is refused",
          "[nodal][check]") {
  const Network network = row().network();
  NodalSolver solver(network.structure);
  const Solution good = solver.operating_point(network);
  REQUIRE(good.status == SolveStatus::solved);
  const Solution nothing;
  CHECK_THROWS_AS(solver.operating_point(network, &nothing), std::invalid_argument);
  Solution half = good;
  half.currents.regulators.clear();
  CHECK_THROWS_AS(solver.operating_point(network, &half), std::invalid_argument);
  SECTION("one of the right size but no sense does no harm") {
    for (const double nonsense : {std::nan(""), 1e300, -1e6}) {
      Solution wild = good;
      for (double& v : wild.volts) v = nonsense;
      const Solution s = solver.operating_point(network, &wild);
      CAPTURE(nonsense, s.reason);
      REQUIRE(s.status == SolveStatus::solved);
      check_same(s, good, good.volts.size());
    }
  }
}

TEST_CASE("nothing to solve is solved", "[nodal]") {
  HandNetwork ground(1);
  const Solution s = solve_nodal(ground.network());
  CHECK(s.status == SolveStatus::solved);
  CHECK(s.volts == std::vector{0.0});
  SECTION("and so are elements with all ends at ground") {
    ground.resistor(0, 0, 1e3);
    ground.diode(0, 0, DiodeModel{});
    ground.bipolar(0, 0, 0, BipolarModel{});
    ground.mosfet(0, 0, 0, MosModel{});
    ground.current_source(0, 0, 1.0);
    const Solution t = solve_nodal(ground.network());
    CHECK(t.status == SolveStatus::solved);
    CHECK(t.currents.resistors == std::vector{0.0});
    CHECK(t.currents.diodes == std::vector{0.0});
  }
}

TEST_CASE("elements with two ends at one node", "[nodal]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, 1e3);
  hand.resistor(2, 2, 1.0);
  hand.diode(2, 2, DiodeModel{});
  BipolarModel npn;
  npn.is = 1e-14;
  hand.bipolar(2, 2, 0, npn);  // a transistor as a diode
  const Network network = hand.network();
  const Solution s = solve_nodal(network);
  REQUIRE(s.status == SolveStatus::solved);
  CHECK(residual(network, s).worst <= 1e-3);
  // is (1 + 1/bf) e^(v/vt) through 1k: v = vt ln(i / (is 1.01)), i = (5 V - v)/1k.
  const double amps = (5.0 - s.volts[2]) / 1e3;
  CHECK_THAT(s.volts[2],
             WithinRel(thermal_voltage(27.0) * std::log(amps / 1.01e-14), 1e-9));
}

TEST_CASE("one solver serves any values, each as a fresh one would but for rounding",
          "[nodal]") {
  HandNetwork hand = row();
  Network network = hand.network();
  NodalSolver solver(network.structure);
  for (const double supply : {12.0, 3.0, -9.0, 0.0, 24.0, 12.0}) {
    for (const double celsius : {27.0, -30.0, 85.0}) {
      network.values.volts[0] = supply;
      network.celsius = celsius;
      const Solution again = solver.operating_point(network);
      const Solution fresh = solve_nodal(network);
      CAPTURE(supply, celsius, fresh.reason);
      REQUIRE(fresh.status == SolveStatus::solved);
      check_same(again, fresh, fresh.volts.size());
      CHECK(std::abs(again.iterations - fresh.iterations) <= 1);
      const Residual r = residual(network, fresh);
      CHECK(r.worst <= 1.0);
      CHECK(r.volts <= kResidualVolts);
    }
  }
}

TEST_CASE("from a near solution as from a cold start", "[nodal]") {
  HandNetwork hand = row();
  Network network = hand.network();
  NodalSolver solver(network.structure);
  const Solution first = solver.operating_point(network);
  REQUIRE(first.status == SolveStatus::solved);
  SECTION("its own: a step or two") {
    const Solution again = solver.operating_point(network, &first);
    check_same(again, first, first.volts.size());
    CHECK(again.iterations <= 2);
    CHECK(again.iterations < first.iterations);
  }
  SECTION("a neighbour's") {
    network.values.volts[0] = 12.5;
    network.values.ohms[0] *= 1.05;
    const Solution near = solver.operating_point(network, &first);
    const Solution cold = solver.operating_point(network);
    REQUIRE(near.status == SolveStatus::solved);
    check_same(near, cold, cold.volts.size());
    CHECK(near.iterations <= cold.iterations);
  }
}

TEST_CASE("sparse beyond 64 unknowns says what dense says below", "[nodal]") {
  int solved = 0;
  for (std::uint64_t k = 0; k < 60; ++k) {
    const Network network = random_network(kSolverSeed, k);
    const Solution narrow = solve_nodal(network);
    const Solution wide = solve_nodal(padded(network, 70));
    CAPTURE(kSolverSeed, k, narrow.reason, wide.reason);
    if (narrow.status != SolveStatus::solved || wide.status != SolveStatus::solved)
      continue;
    ++solved;
    check_same(wide, narrow, narrow.volts.size());
    CHECK(wide.volts.back() == 0.0);
  }
  CHECK(solved >= 59);
}

TEST_CASE("junctions at the ends of the ranges are solved", "[nodal]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, 1e3);
  DiodeModel m;
  m.tnom = 27.0;
  m.n = GENERATE(0.5, 1.0, 4.0);
  m.is = GENERATE(1e-60, 1e-30, 1e-9, 1e-3, 1.0);
  const double supply = GENERATE(5.0, 100.0, -5.0);
  hand.diode(2, 0, m);
  hand.values.volts[0] = supply;
  const Network network = hand.network();
  const Solution s = solve_nodal(network);
  CAPTURE(m.is, m.n, supply, s.reason);
  REQUIRE(s.status == SolveStatus::solved);
  const Residual r = residual(network, s);
  CHECK(r.worst <= 1.0);
  const double amps = (supply - s.volts[2]) / 1e3;
  const double volts = m.n * thermal_voltage(27.0) * std::log1p(1e-6 / m.is);
  if (volts < supply - 1e-3) {
    // It conducts a microampere and more: i = is (e^(v/nvt) - 1) solved for v. Beside
    // that the leak is below 1e-8, and so is what the current rounds to.
    CHECK(amps > 1e-6);
    CHECK_THAT(s.volts[2],
               WithinRel(m.n * thermal_voltage(27.0) * std::log1p(amps / m.is), 1e-8));
  } else {
    CHECK(amps < 1e-6);
  }
}

TEST_CASE("a net that nothing determines is named", "[nodal][failure]") {
  const int more = GENERATE(0, 70);
  CAPTURE(more);
  SECTION("only a capacitor leads to it") {
    HandNetwork hand(3);
    hand.voltage_source(1, 0, 5.0);
    hand.structure.capacitors.push_back({1, 2, {}});
    hand.values.farads.push_back(1e-6);
    const Solution s = solve_nodal(padded(hand.network(), more));
    CHECK(s.status == SolveStatus::no_convergence);
    CHECK_THAT(s.reason, Contains("net 'node_2' is not determined by the circuit"));
    CHECK_THAT(s.reason, Contains("gmin stepping and source stepping"));
    CHECK(s.volts.empty());
  }
  SECTION("a current source drives an island") {
    HandNetwork hand(4);
    hand.voltage_source(1, 0, 5.0);
    hand.resistor(2, 3, 1e3);
    hand.current_source(2, 3, 1e-3);
    const Solution s = solve_nodal(padded(hand.network(), more));
    CHECK(s.status == SolveStatus::no_convergence);
    if (more == 0) {
      const bool is_named = s.reason.find("'node_2'") != std::string::npos ||
                            s.reason.find("'node_3'") != std::string::npos;
      CHECK(is_named);
    }
  }
}

TEST_CASE("what lies inside a part is told by the part", "[nodal][failure]") {
  HandNetwork hand(4);
  hand.structure.nodes = {"ground", "inlet", "rail", "d:drop"};
  hand.structure.nets = 3;
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(2, 0, 1e3);
  SECTION("a node") {
    hand.structure.capacitors.push_back({1, 3, {}});
    hand.values.farads.push_back(1e-6);
    const Solution s = solve_nodal(hand.network());
    CHECK(s.status == SolveStatus::no_convergence);
    CHECK_THAT(s.reason,
               Catch::StartsWith("a point inside part 'd' is not determined"));
  }
  SECTION("a branch") {
    hand.voltage_source(3, 1, 1.0);
    hand.voltage_source(3, 1, 2.0);
    const Solution s = solve_nodal(hand.network());
    CHECK(s.status == SolveStatus::no_convergence);
    CHECK_THAT(s.reason, Contains("inside part 'd'") && !Contains("d:drop"));
  }
}

TEST_CASE("a loop of voltage sources is a reason, not a crash", "[nodal][failure]") {
  const int more = GENERATE(0, 70);
  const double second = GENERATE(5.0, 6.0);
  const double ohms = GENERATE(1.0, 3.0, 47.0, 1e5);
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.voltage_source(1, 2, 2.0);
  hand.voltage_source(2, 0, second - 2.0);
  hand.resistor(1, 0, ohms);
  hand.resistor(2, 1, 0.7 * ohms);
  const Solution s = solve_nodal(padded(hand.network(), more));
  CAPTURE(more, second, ohms, s.reason);
  CHECK(s.status == SolveStatus::no_convergence);
  CHECK_THAT(s.reason, Contains("is not determined by the circuit"));
  if (more == 0) CHECK_THAT(s.reason, Contains("'node_1'") || Contains("'node_2'"));
}

TEST_CASE("a lamp that hardly conducts behind a closed switch is solved", "[nodal]") {
  // Rounding of the voltages across the 20 uohm of the switch is larger there than the
  // steps are asked to be: some of these had no answer.
  for (int k = 0; k < 400; ++k) {
    const double supply = 1.4 + k * 5e-3;
    HandNetwork hand(5);
    hand.voltage_source(1, 0, supply);
    hand.resistor(1, 2, 40.0);
    hand.resistor(2, 3, 2e-5);
    hand.resistor(3, 4, 100.0);
    hand.resistor(4, 0, 1e9);
    DiodeModel led;
    led.is = 1.748640880756233e-18;
    led.n = 2.0;
    led.rs = 5.0;
    hand.diode(4, 0, led);
    const Network network = hand.network();
    const Solution s = solve_nodal(network);
    CAPTURE(supply, s.reason);
    REQUIRE(s.status == SolveStatus::solved);
    const Residual r = residual(network, s);
    CHECK(r.worst <= 0.5);
    CHECK(r.beyond_rounding <= 0.01);
    // This circuit lacks only the switch, which keeps less than a nanovolt for itself.
    HandNetwork bare(3);
    bare.voltage_source(1, 0, supply);
    bare.resistor(1, 2, 140.0 + 2e-5);
    bare.resistor(2, 0, 1e9);
    bare.diode(2, 0, led);
    const Solution other = solve_nodal(bare.network());
    REQUIRE(other.status == SolveStatus::solved);
    CHECK_THAT(s.volts[4], WithinAbs(other.volts[2], 1e-8));
  }
}

TEST_CASE("when steps run out, the restless net and what was tried are told",
          "[nodal][failure]") {
  const Network network = row().network();
  NodalOptions options;
  options.iterations = 1;
  options.continuation = 1;
  const Solution s = NodalSolver(network.structure, options).operating_point(network);
  CHECK(s.status == SolveStatus::no_convergence);
  CHECK_THAT(s.reason,
             Catch::Matches("net 'node_[1-8]' would not settle; tried Newton's "
                            "method, gmin stepping and source stepping"));
  CHECK(s.iterations == 3);
  CHECK(s.volts.empty());
}

TEST_CASE("the fallbacks find what Newton's method alone does not", "[nodal]") {
  // With few steps from each start Newton's method fails (that many iterations and more
  // are counted), and what solves it is a walk of many short ones.
  const Network network = row().network();
  const Solution usual = solve_nodal(network);
  REQUIRE(usual.status == SolveStatus::solved);
  int walked = 0;
  for (int few = usual.iterations - 1; few >= 4; --few) {
    NodalOptions options;
    options.iterations = few;
    options.continuation = 5000;
    const Solution s = NodalSolver(network.structure, options).operating_point(network);
    CAPTURE(few, usual.iterations, s.iterations, s.reason);
    if (s.status != SolveStatus::solved) continue;
    ++walked;
    CHECK(s.iterations > few);
    check_same(s, usual, usual.volts.size());
  }
  CHECK(walked >= 3);
}

TEST_CASE("source stepping finds what gmin stepping cannot help", "[nodal]") {
  // Conductances to ground change nothing where every junction's voltage is a source's:
  // each of gmin stepping's starts is as hard as the first. Only raising the sources
  // from 0 makes the steps short.
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 20.0);
  hand.voltage_source(2, 1, 15.0);
  DiodeModel m;
  m.rs = 0.2;
  hand.diode(1, 0, m);
  hand.diode(2, 1, m);
  hand.diode(2, 0, m);
  const Network network = hand.network();
  const Solution usual = solve_nodal(network);
  REQUIRE(usual.status == SolveStatus::solved);
  NodalOptions options;
  options.iterations = usual.iterations - 1;
  options.continuation = 1000;
  const Solution s = NodalSolver(network.structure, options).operating_point(network);
  CAPTURE(usual.iterations, s.iterations, s.reason);
  REQUIRE(s.status == SolveStatus::solved);
  // The cold start and the first of gmin stepping, both in vain.
  CHECK(s.iterations > 2 * options.iterations);
  check_same(s, usual, usual.volts.size());
  for (int k = 0; k < 3; ++k) {
    CHECK_THAT(s.currents.diodes[k], WithinRel(usual.currents.diodes[k], 1e-8));
  }
}

}  // namespace benchproof
