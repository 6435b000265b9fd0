#include "core/network/equations.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <memory>
#include <stdexcept>
#include <vector>

#include "core/device/diode.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

bool passes(const Network& network, const Solution& solution) {
  const Residual r = residual(network, solution);
  return r.worst <= 1.0 && r.volts <= kResidualVolts;
}

Solution solved(const Network& network) {
  Solution s = solve_nodal(network);
  UNSCOPED_INFO(s.reason);
  REQUIRE(s.status == SolveStatus::solved);
  return s;
}

/// 9 V, 1k, 2k to ground: 3 mA, 6 V.
HandNetwork divider() {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 9.0);
  hand.resistor(1, 2, 1e3);
  hand.resistor(2, 0, 2e3);
  return hand;
}

Solution of_divider() {
  Solution s;
  s.status = SolveStatus::solved;
  s.volts = {0.0, 9.0, 6.0};
  s.currents.resistors = {3e-3, 3e-3};
  s.currents.voltage_sources = {-3e-3};
  return s;
}

DiodeModel ideal() {
  DiodeModel m;
  m.is = 1e-12;
  m.n = 1e-5;
  return m;
}

}  // namespace

TEST_CASE("an exact solution leaves nothing over", "[network][residual]") {
  const Residual r = residual(divider().network(), of_divider());
  CHECK_THAT(r.amps, WithinAbs(0.0, 1e-18));
  CHECK_THAT(r.worst, WithinAbs(0.0, 1e-9));
  CHECK(r.volts == 0.0);
}

TEST_CASE("a wrong voltage or current is found where it stands",
          "[network][residual]") {
  const Network network = divider().network();
  SECTION("a node's voltage") {
    Solution s = of_divider();
    s.volts[2] += 1e-3;
    const Residual r = residual(network, s);
    // 1 mV over 1k and 2k in parallel: 1.5 uA.
    CHECK_THAT(r.amps, WithinRel(1.5e-6, 1e-9));
    CHECK(r.node == 2);
    // Allowed: 1 nA and a millionth of the largest current there, 3.0005 mA.
    CHECK_THAT(r.worst, WithinRel(1.5e-6 / (1e-9 + 3.0005e-9), 1e-6));
    CHECK_FALSE(passes(network, s));
  }
  SECTION("a source's current") {
    Solution s = of_divider();
    s.currents.voltage_sources[0] += 1e-6;
    const Residual r = residual(network, s);
    CHECK_THAT(r.amps, WithinRel(1e-6, 1e-9));
    CHECK(r.node == 1);
    CHECK_FALSE(passes(network, s));
  }
  SECTION("a source's voltage, even where currents fit") {
    Solution s = of_divider();
    for (double& v : s.volts) v *= 2.0;
    s.currents.voltage_sources[0] *= 2.0;
    const Residual r = residual(network, s);
    CHECK_THAT(r.worst, WithinAbs(0.0, 1e-6));
    CHECK_THAT(r.volts, WithinRel(9.0 / (1.0 + 9.0), 1e-15));  // 9 V off at 9 V
    CHECK_FALSE(passes(network, s));
  }
  SECTION("what is allowed passes") {
    Solution s = of_divider();
    s.currents.voltage_sources[0] += 2e-9;
    CHECK(passes(network, s));
  }
}

TEST_CASE("what is no number never passes", "[network][residual]") {
  const Network network = divider().network();
  for (const int node : {1, 2}) {
    Solution s = of_divider();
    s.volts[node] = kNan;
    CAPTURE(node);
    CHECK_FALSE(passes(network, s));
  }
  Solution s = of_divider();
  s.currents.voltage_sources[0] = kNan;
  CHECK_FALSE(passes(network, s));
  SECTION("at a node that only sources touch") {
    HandNetwork hand(4);
    hand.voltage_source(1, 0, 9.0);
    hand.voltage_source(2, 1, 1.0);
    hand.resistor(3, 0, 1e3);
    Solution t;
    t.volts = {0.0, 9.0, kNan, 0.0};
    t.currents.resistors = {0.0};
    t.currents.voltage_sources = {0.0, 0.0};
    CHECK_FALSE(passes(hand.network(), t));
  }
}

TEST_CASE("an inductor's voltage must vanish", "[network][residual]") {
  HandNetwork hand = divider();
  hand.structure.inductors.push_back({2, 0, {}});
  hand.values.coils.push_back({1e-3});
  Solution s = of_divider();
  s.currents.inductors = {0.0};
  CHECK_THAT(residual(hand.network(), s).volts, WithinRel(6.0, 1e-15));
  CHECK(passes(hand.network(), solved(hand.network())));
}

TEST_CASE("an ideal junction is judged by its voltage", "[network][residual]") {
  // 5 V through 1k into an ideal diode: 5 mA at nvt ln(1 + i/is) = 5.8 uV.
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, 1e3);
  hand.diode(2, 0, ideal());
  const Network network = hand.network();
  const Solution good = solved(network);
  CHECK(passes(network, good));
  SECTION("a microvolt and some off: currents still fit, the voltage does not") {
    Solution s = good;
    s.volts[2] += 1.5e-6;
    CHECK_FALSE(passes(network, s));
  }
  SECTION("half a microvolt is within what is allowed") {
    Solution s = good;
    s.volts[2] += 0.5e-6;
    CHECK(passes(network, s));
  }
  SECTION("a current against the junction, at no voltage, is none of its states") {
    Network turned = network;
    turned.values.volts[0] = -5.0;
    CHECK(passes(turned, solved(turned)));
    // The false state: 0 V, 5 mA backwards, all currents in balance.
    Solution s = good;
    s.volts = {0.0, -5.0, 0.0};
    s.currents.resistors = {-5e-3};
    s.currents.diodes = {-5e-3};
    s.currents.voltage_sources = {5e-3};
    CHECK_FALSE(passes(turned, s));
  }
}

TEST_CASE("ideal junctions with breakdown are judged on both sides",
          "[network][residual]") {
  DiodeModel m = ideal();
  m.n = GENERATE(1e-5, 1.0);
  m.bv = 5.0;
  m.ibv = 1e-3;
  m.nbv = GENERATE(1e-5, 1.0);
  CAPTURE(m.n, m.nbv);
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 9.0);
  hand.resistor(1, 2, 1e3);
  hand.diode(0, 2, m);
  const Network network = hand.network();
  const Solution good = solved(network);
  CHECK_THAT(good.volts[2], WithinAbs(5.0, 0.1));
  CHECK(passes(network, good));
  // The false state: 2 V further, with the currents to match.
  Solution s = good;
  s.volts[2] += 2.0;
  s.currents.diodes[0] = -(9.0 - s.volts[2]) / 1e3;
  s.currents.resistors[0] = -s.currents.diodes[0];
  s.currents.voltage_sources[0] = s.currents.diodes[0];
  CHECK_FALSE(passes(network, s));
}

TEST_CASE("ideal transistors are judged by their voltages", "[network][residual]") {
  BipolarModel m;
  m.is = 1e-12;
  m.nf = 1e-5;
  m.nr = 1e-5;
  m.bf = 100.0;
  m.vaf = GENERATE(std::numeric_limits<double>::infinity(), 50.0);
  HandNetwork hand(4);  // 1 supply, 2 collector, 3 base
  hand.voltage_source(1, 0, 12.0);
  hand.resistor(1, 2, GENERATE(10.0, 1e3, 1e5));
  hand.resistor(1, 3, GENERATE(1e2, 1e5));
  hand.bipolar(2, 3, 0, m);
  const Network network = hand.network();
  const Solution good = solved(network);
  CAPTURE(m.vaf, hand.values.ohms[0], hand.values.ohms[1]);
  CHECK(passes(network, good));
  Solution s = good;
  s.volts[3] += 1e-3;
  CHECK_FALSE(passes(network, s));
}

TEST_CASE("currents_at follows the devices", "[network][equations]") {
  HandNetwork hand(3);
  DiodeModel m;
  m.rs = 2.0;
  hand.diode(1, 2, m);
  hand.resistor(1, 0, 50.0);
  hand.current_source(2, 0, 7e-3);
  const Currents c = currents_at(hand.network(), {0.0, 1.0, 0.2}, {});
  CHECK(c.diodes.front() == conduct(at(m, 27.0), 0.8).amps);
  CHECK(c.resistors.front() == 0.02);
  // It leaves at its plus, so that through the source it runs from plus to minus
  // backwards.
  CHECK(c.current_sources.front() == -7e-3);
}

TEST_CASE("a network that breaks its rules is refused", "[network][check]") {
  HandNetwork good(4);
  good.voltage_source(1, 0, 9.0);
  good.resistor(1, 2, 1e3);
  good.current_source(2, 0, 1e-3);
  good.diode(2, 0, DiodeModel{});
  good.bipolar(2, 1, 0, BipolarModel{});
  good.mosfet(2, 1, 0, MosModel{});
  good.regulator(1, 0, 3, RegulatorModel{});
  good.structure.capacitors.push_back({1, 0, {}});
  good.values.farads.push_back(1e-6);
  good.structure.inductors.push_back({1, 2, {}});
  good.values.coils.push_back({1e-3});
  CHECK_NOTHROW(check_network(good.network()));

  using Spoil = std::function<void(HandNetwork&)>;
  const double inf = std::numeric_limits<double>::infinity();
  const std::vector<Spoil> spoils{
      [](HandNetwork& h) { h.structure.nodes.clear(); },
      [](HandNetwork& h) { h.values.ohms.pop_back(); },
      [](HandNetwork& h) { h.values.diodes.emplace_back(); },
      [](HandNetwork& h) { h.values.regulators.clear(); },
      [](HandNetwork& h) { h.structure.resistors[0].a = 4; },
      [](HandNetwork& h) { h.structure.diodes[0].b = -1; },
      [](HandNetwork& h) { h.structure.mosfets[0].ends[1] = 99; },
      [](HandNetwork& h) { h.values.ohms[0] = 0.0; },
      [](HandNetwork& h) { h.values.ohms[0] = -5.0; },
      [](HandNetwork& h) { h.values.ohms[0] = kNan; },
      [inf](HandNetwork& h) { h.values.farads[0] = inf; },
      [](HandNetwork& h) { h.values.coils[0].henries = 0.0; },
      [inf](HandNetwork& h) { h.values.volts[0] = inf; },
      [](HandNetwork& h) { h.values.amps[0] = kNan; },
      [](HandNetwork& h) { h.celsius = -273.15; },
      [](HandNetwork& h) { h.celsius = kNan; },
      [](HandNetwork& h) { h.values.diodes[0].is = 0.0; },
      [](HandNetwork& h) { h.values.diodes[0].n = kNan; },
      [](HandNetwork& h) { h.values.diodes[0].rs = -1.0; },
      [](HandNetwork& h) { h.values.diodes[0].bv = kNan; },
      [](HandNetwork& h) { h.values.diodes[0].ibv = 0.0; },
      [](HandNetwork& h) { h.values.diodes[0].nbv = 0.0; },
      [inf](HandNetwork& h) { h.values.diodes[0].eg = inf; },
      [](HandNetwork& h) { h.values.diodes[0].tnom = -300.0; },
      [](HandNetwork& h) { h.values.bipolars[0].bf = 0.0; },
      [](HandNetwork& h) { h.values.bipolars[0].vaf = 0.0; },
      [inf](HandNetwork& h) { h.values.bipolars[0].nr = inf; },
      [](HandNetwork& h) { h.values.mosfets[0].kp = -1.0; },
      [](HandNetwork& h) { h.values.mosfets[0].vto = kNan; },
      [](HandNetwork& h) { h.values.mosfets[0].lambda = -0.1; },
      [](HandNetwork& h) { h.values.regulators[0].limit = 0.0; },
      [](HandNetwork& h) { h.values.regulators[0].line = kNan; },
      [](HandNetwork& h) { h.values.regulators[0].resistance = -1.0; },
  };
  for (std::size_t k = 0; k < spoils.size(); ++k) {
    HandNetwork bad = good;
    spoils[k](bad);
    CAPTURE(k);
    CHECK_THROWS_AS(check_network(bad.network()), std::invalid_argument);
    CHECK_THROWS_AS(solve_nodal(bad.network()), std::invalid_argument);
  }
  CHECK_THROWS_AS(check_network(Network{}), std::invalid_argument);
}

}  // namespace benchproof
