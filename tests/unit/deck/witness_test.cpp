// What only the engine itself can say of a deck: that it reads it as it is meant.

#include "spice/session/witness.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <utility>

#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using test::HandNetwork;

EngineSession& session() {
  static EngineSession one{[] {
    EngineOptions options;
    options.worker_path = std::string(BENCHPROOF_BIN_DIR) + "/benchproof-worker";
    return options;
  }()};
  return one;
}

/// Both witnesses, to DESIGN section 8: 1 uV + 1e-6 |V| and 1 nA + 1e-6 |I|.
void check_agree(const Network& network) {
  const Solution nodal = solve_nodal(network);
  const Solution engine = solve_with_engine(session(), network);
  CAPTURE(nodal.reason, engine.reason);
  REQUIRE(nodal.status == SolveStatus::solved);
  REQUIRE(engine.status == SolveStatus::solved);
  for (std::size_t k = 0; k < nodal.volts.size(); ++k) {
    CAPTURE(network.structure->nodes[k]);
    CHECK_THAT(engine.volts[k],
               WithinAbs(nodal.volts[k], 1e-6 + 1e-6 * std::abs(nodal.volts[k])));
  }
  for (std::size_t k = 0; k < nodal.currents.diodes.size(); ++k) {
    const double amps = nodal.currents.diodes[k];
    CAPTURE(k);
    CHECK_THAT(engine.currents.diodes[k],
               WithinAbs(amps, 1e-9 + 1e-6 * std::abs(amps)));
  }
  const Residual r = residual(network, engine);
  CHECK(r.worst <= 1.0);
  CHECK(r.volts <= kResidualVolts);
}

}  // namespace

TEST_CASE("extreme junctions mean the same to both witnesses", "[deck][engine]") {
  DiodeModel m;
  m.is = GENERATE(1e-60, 1e-40, 1e-20, 1e-6, 1.0);
  m.n = GENERATE(0.5, 1.0, 3.0);
  m.rs = GENERATE(0.0, 2.0);
  if (GENERATE(false, true)) {
    m.bv = 7.5;
    m.ibv = 2e-3;
    m.nbv = 0.8;
  }
  const double supply = GENERATE(12.0, -12.0);
  HandNetwork h(3);
  h.celsius = GENERATE(27.0, 60.0);
  h.voltage_source(1, 0, supply);
  h.resistor(1, 2, 1e3);
  h.diode(2, 0, m);
  CAPTURE(m.is, m.n, m.rs, m.bv, supply, h.celsius);
  check_agree(h.network());
}

TEST_CASE("extreme transistors mean the same to both witnesses", "[deck][engine]") {
  BipolarModel q;
  q.is = GENERATE(1e-60, 1e-40, 1e-6);
  q.is_pnp = GENERATE(false, true);
  const double sign = q.is_pnp ? -1.0 : 1.0;
  HandNetwork h(4);
  h.voltage_source(1, 0, sign * 12.0);
  h.resistor(1, 2, 47e3);
  h.resistor(1, 3, 1e3);
  h.bipolar(3, 2, 0, q);
  CAPTURE(q.is, q.is_pnp);
  check_agree(h.network());
}

TEST_CASE("a bridge whose second supply hangs on an open switch is solved by both",
          "[deck][engine]") {
  DiodeModel m;
  m.is = GENERATE(4.7e-9, 1e-7);
  m.n = 1.76;
  m.rs = 0.042;
  const double load = GENERATE(50.0, 200.0, 1e3);
  const bool is_right = GENERATE(true, false);
  HandNetwork h(6);
  h.resistor(1, 3, is_right ? 2e-5 : 1e8);
  h.resistor(2, 3, is_right ? 1e8 : 2e-5);
  h.voltage_source(1, 4, 12.0);
  h.voltage_source(4, 2, 12.0);
  for (const auto& [anode, cathode] :
       {std::pair{3, 5}, std::pair{4, 5}, std::pair{0, 3}, std::pair{0, 4}}) {
    h.diode(anode, cathode, m);
    h.resistor(anode, cathode, 1e9);
  }
  h.resistor(5, 0, load);
  CAPTURE(m.is, load, is_right);
  check_agree(h.network());
}

TEST_CASE("temperature means the same to both witnesses", "[deck][engine]") {
  HandNetwork h(6);
  h.celsius = GENERATE(-40.0, 27.0, 60.0, 125.0);
  h.voltage_source(1, 0, 9.0);
  DiodeModel zener;
  zener.is = 1e-12;
  zener.bv = 5.6;
  zener.ibv = 5e-3;
  zener.nbv = 2.0;
  zener.tnom = 25.0;
  h.resistor(1, 2, 470.0);
  h.diode(0, 2, zener);
  BipolarModel q;
  q.is = 1e-14;
  q.tnom = 20.0;
  h.resistor(1, 3, 47e3);
  h.resistor(1, 4, 1e3);
  h.bipolar(4, 3, 0, q);
  MosModel m;
  m.vto = 2.0;
  m.kp = 0.05;
  m.tnom = 30.0;
  h.resistor(1, 5, 330.0);
  h.mosfet(5, 2, 0, m);
  MosModel p = m;
  p.is_p_channel = true;
  p.vto = -2.0;
  h.mosfet(5, 4, 1, p);
  CAPTURE(h.celsius);
  check_agree(h.network());
}

TEST_CASE("a current source leaves at its plus for both", "[deck][engine]") {
  HandNetwork h(2);
  h.current_source(1, 0, 2e-3);
  h.resistor(1, 0, 1e3);
  const Network network = h.network();
  check_agree(network);
  CHECK_THAT(solve_with_engine(session(), network).volts[1], WithinAbs(2.0, 1e-9));
}

TEST_CASE("regulators mean the same to both, common lifted or not", "[deck][engine]") {
  const double supply = GENERATE(-5.0, 0.0, 2.0, 6.0, 12.0);
  const double load = GENERATE(1.0, 50.0, 1e5);
  const double lift = GENERATE(0.0, 100.0);
  RegulatorModel m;
  m.quiescent = 4e-3;
  m.resistance = 0.02;
  m.line = 1e-3;
  m.line_reference = 10.0;
  HandNetwork h(4);
  h.voltage_source(1, 0, supply);
  const int common = lift > 0.0 ? 3 : 0;
  h.regulator(1, common, 2, m);
  h.resistor(2, 0, load);
  h.resistor(3, 0, lift > 0.0 ? lift : 1.0);
  CAPTURE(supply, load, lift);
  check_agree(h.network());
}

TEST_CASE("an ideal drop with a neighbour inside means the same to both",
          "[deck][engine]") {
  HandNetwork h(4);
  h.structure.nets = 3;  // node 3 is inside
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 1e3);
  h.voltage_source(2, 3, 0.7);
  DiodeModel ideal;
  ideal.is = 1e-12;
  ideal.n = 1e-5;
  h.diode(3, 0, ideal);
  SECTION("alone") { check_agree(h.network()); }
  SECTION("beside a resistor that takes a part of the source's current") {
    // 10 uohm: at some microvolts the junction leaves it nearly half an ampere.
    h.resistor(3, 0, 1e-3);
    check_agree(h.network());
  }
}

}  // namespace benchproof
