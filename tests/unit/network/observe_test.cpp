#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "core/network/equations.h"
#include "core/network/lower.h"
#include "core/network/observation.h"
#include "core/nodal/nodal_solver.h"
#include "tests/unit/network/lowered.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::Lowered;
using test::lowered;

std::string demo() {
  std::ifstream file(BENCHPROOF_SOURCE_DIR "/circuits/harbour-light.toml");
  return {std::istreambuf_iterator<char>(file), {}};
}

/// Parts of every kind that carries a current at rest.
const char* const kMany = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "9V" }
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = false, no_load = "15 V" }
safe = { kind = "fuse", rated = "1 A" }
wire = { kind = "wire", gauge = "0.14 mm2", length = "2 m" }
reg = { kind = "regulator", type = "7805" }
pot = { kind = "trimmer", value = "10k", turn = 0.3 }
coil = { kind = "inductor", value = "10 mH", dcr = "5 ohm" }
lamp = { kind = "lamp", voltage = "12 V", current = "0.05 A" }
npn = { kind = "transistor", type = "BC547" }
fet = { kind = "mosfet", type = "2N7000" }
rb = { kind = "resistor", value = "10k" }
rz = { kind = "resistor", value = "330R" }
zen = { kind = "zener", voltage = "3.3 V" }
led = { kind = "led", drop = "2 V", slope = "10 ohm" }
rl = { kind = "resistor", value = "470R" }
src = { kind = "current-source", current = "3 mA" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["one", "two"] }
cap = { kind = "capacitor", value = "1uF" }
[nets]
ground = ["cell.minus", "jack.minus", "reg.common", "pot.b", "npn.emitter", "fet.source", "zen.anode", "led.cathode", "src.minus", "chip.vss", "cap.b"]
inlet = ["jack.plus", "safe.a"]
raw = ["safe.b", "reg.in", "lamp.a", "wire.a"]
far = ["wire.b", "coil.a", "src.plus"]
load = ["coil.b", "rz.a"]
zed = ["rz.b", "zen.cathode"]
rail = ["reg.out", "chip.vdd", "pot.a", "cap.a"]
mid = ["pot.wiper", "fet.gate"]
gate = ["chip.one", "rb.a", "rl.a"]
base = ["rb.b", "npn.base"]
lamp_k = ["lamp.b", "npn.collector", "fet.drain"]
glow = ["rl.b", "led.anode"]
nine = ["cell.plus", "chip.two"]
[states.busy]
"chip.one" = "high"
)";

}  // namespace

TEST_CASE("currents into each part sum to zero, and so do all powers",
          "[network][observe]") {
  // Kirchhoff, and B. D. H. Tellegen, "A general network theorem, with applications",
  // Philips Research Reports 7 (1952) 259-269 (from memory).
  const Lowered l = lowered(GENERATE_COPY(std::string(kMany), demo()));
  for (const State& state : l.circuit.states) {
    for (const Phase& phase : phases(l.circuit, state)) {
      const Network network = lower(l.circuit, phase.state);
      const Solution s = solve_nodal(network);
      CAPTURE(state.name, phase.name, s.reason);
      REQUIRE(s.status == SolveStatus::solved);
      const Observation seen = observe(l.circuit, network, s);
      REQUIRE(seen.net_volts.size() == l.circuit.nets.size());
      REQUIRE(seen.pin_amps.size() == l.circuit.parts.size());
      double power = 0.0;
      double flow = 0.0;
      // Newton leaves 1e-9 of each unknown at most (NodalOptions), at the junction with
      // the largest current; some amperes at most flow here.
      for (std::size_t p = 0; p < l.circuit.parts.size(); ++p) {
        double sum = 0.0;
        double largest = 0.0;
        for (const double amps : seen.pin_amps[p]) {
          sum += amps;
          largest = std::max(largest, std::abs(amps));
        }
        CAPTURE(l.circuit.parts[p].name);
        CHECK_THAT(sum, WithinAbs(0.0, 1e-12 + 1e-9 * largest));
        power += seen.part_watts[p];
        flow += std::abs(seen.part_watts[p]);
      }
      CHECK(flow > 0.01);
      CHECK_THAT(power, WithinAbs(0.0, 1e-9 * flow));
      // And at every net.
      std::vector<double> at_net(l.circuit.nets.size(), 0.0);
      std::vector<double> size(l.circuit.nets.size(), 0.0);
      for (std::size_t p = 0; p < l.circuit.parts.size(); ++p) {
        for (std::size_t k = 0; k < seen.pin_amps[p].size(); ++k) {
          const int net = l.circuit.parts[p].nets[k];
          if (net < 0) continue;
          at_net[net] += seen.pin_amps[p][k];
          size[net] += std::abs(seen.pin_amps[p][k]);
        }
      }
      for (std::size_t n = 0; n < at_net.size(); ++n) {
        CAPTURE(l.circuit.nets[n].name);
        CHECK_THAT(at_net[n], WithinAbs(0.0, 1e-12 + 1e-8 * size[n]));
      }
    }
  }
}

TEST_CASE("pins and powers of a divider by hand", "[network][observe]") {
  // 9 V over 1k + 2k: 3 mA, 3 V and 6 V; 9 mW, 18 mW, and 27 mW from the source.
  const Lowered l = lowered(R"(
[parts]
v = { kind = "voltage-source", voltage = "9 V" }
r1 = { kind = "resistor", value = "1k" }
r2 = { kind = "resistor", value = "2k" }
[nets]
ground = ["v.minus", "r2.b"]
s = ["v.plus", "r1.a"]
o = ["r1.b", "r2.a"]
)");
  const Observation seen = observe(l.circuit, l.network, solve_nodal(l.network));
  const double rounding = 1e-14;
  CHECK_THAT(seen.net_volts[l.node("o")], WithinRel(6.0, rounding));
  CHECK_THAT(seen.pin_amps[l.part("v")][0], WithinRel(-3e-3, rounding));
  CHECK_THAT(seen.pin_amps[l.part("v")][1], WithinRel(3e-3, rounding));
  CHECK_THAT(seen.pin_amps[l.part("r1")][0], WithinRel(3e-3, rounding));
  CHECK_THAT(seen.part_watts[l.part("v")], WithinRel(-27e-3, rounding));
  CHECK_THAT(seen.part_watts[l.part("r1")], WithinRel(9e-3, rounding));
  CHECK_THAT(seen.part_watts[l.part("r2")], WithinRel(18e-3, rounding));
}

TEST_CASE("an average weighs by share", "[network][observe]") {
  const Observation on{{0.0, 5.0}, {{2e-3, -2e-3}}, {10e-3}};
  const Observation off{{0.0, 1.0}, {{0.0, 0.0}}, {2e-3}};
  const Observation mean = average({on, off}, {0.25, 0.75});
  CHECK(mean.net_volts == std::vector{0.0, 2.0});
  CHECK(mean.pin_amps == std::vector<std::vector<double>>{{0.5e-3, -0.5e-3}});
  CHECK_THAT(mean.part_watts.front(), WithinRel(4e-3, 1e-15));
  CHECK(average({on}, {1.0}).pin_amps == on.pin_amps);
}

}  // namespace benchproof
