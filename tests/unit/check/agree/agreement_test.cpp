#include "core/check/agree/agreement.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "core/network/lower.h"
#include "tests/unit/check/bench.h"

using benchproof::agree;
using benchproof::Agreement;
using benchproof::amps_share;
using benchproof::Catalogue;
using benchproof::Circuit;
using benchproof::lower;
using benchproof::Network;
using benchproof::Solution;
using benchproof::solve_nodal;
using benchproof::SolveStatus;
using benchproof::volts_share;
using benchproof::bench::read;

namespace {

/// 10 V over 1 kohm and a diode, a transistor and a regulator, so that every kind of
/// list of currents has something in it.
const char* const kText = R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
r = { kind = "resistor", value = "1k" }
d = { kind = "diode", type = "1N4148" }
reg = { kind = "regulator", type = "7805" }
load = { kind = "resistor", value = "1k" }
q = { kind = "transistor", type = "2N3904" }
rb = { kind = "resistor", value = "100k" }
coil = { kind = "inductor", value = "1 mH" }
c = { kind = "capacitor", value = "1uF" }
i = { kind = "current-source", current = "1 mA" }
m = { kind = "mosfet", type = "2N7000" }
rd = { kind = "resistor", value = "10k" }
[nets]
hot = ["v.plus", "r.a", "reg.in", "coil.a", "rd.a", "m.gate"]
wound = ["coil.b", "rb.a"]
mid = ["r.b", "d.anode", "c.a", "i.plus"]
out = ["reg.out", "load.a", "q.collector"]
base = ["rb.b", "q.base"]
drain = ["rd.b", "m.drain"]
ground = ["v.minus", "d.cathode", "reg.common", "load.b", "q.emitter", "c.b", "i.minus", "m.source"]
)";

struct Solved {
  const char* text = kText;
  Catalogue catalogue = benchproof::built_in_catalogue();
  Circuit circuit = read(catalogue, text);
  Network network = lower(circuit, circuit.states[0]);
  Solution solution = solve_nodal(network);

  [[nodiscard]] std::size_t node(const std::string& name) const {
    const auto& nodes = network.structure->nodes;
    return static_cast<std::size_t>(std::find(nodes.begin(), nodes.end(), name) -
                                    nodes.begin());
  }
  [[nodiscard]] Agreement against(const Solution& other) const {
    return agree(circuit, network, other, solution);
  }
};

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("a solution agrees with itself", "[check][agreement]") {
  const Solved s;
  REQUIRE(s.solution.status == SolveStatus::solved);
  const Agreement a = s.against(s.solution);
  CHECK(a.agrees);
  CHECK(a.reason.empty());
  CHECK_FALSE(a.net.empty());
  CHECK(a.difference == 0.0);
}

// DESIGN section 8: |dV| <= 1 uV + 1e-6 |V|. At 'out', about 5 V, that is 6 uV. The
// residual is not to decide, so only the voltage is moved: the largest conductance at
// 'drain' is that of the transistor.
TEST_CASE("voltages may differ by 1 uV and a millionth", "[check][agreement]") {
  const Solved s;
  Solution other = s.solution;
  const std::size_t node = s.node("hot");
  const double allowed = 1e-6 + 1e-6 * s.solution.volts[node];
  other.volts[node] += 1.05 * allowed;
  const Agreement far = s.against(other);
  CHECK_FALSE(far.agrees);
  CHECK(far.net == "hot");
  CHECK_THAT(far.reason, Catch::Contains("differ at 'hot'"));
  CHECK(far.difference > allowed);
  other.volts[node] = s.solution.volts[node] + 0.9 * allowed;
  const Agreement near = s.against(other);
  CHECK_THAT(near.reason, !Catch::Contains("differ at"));
  // The roundings of 10 V over 11 uV, and what is allowed grows by a millionth.
  CHECK_THAT(volts_share(near), Catch::Matchers::WithinAbs(0.9, 2e-6));
  CHECK(amps_share(near) == 0.0);
}

TEST_CASE("what is no number agrees with nothing", "[check][agreement]") {
  const Solved s;
  for (const double bad : {kNan, HUGE_VAL, -HUGE_VAL}) {
    for (std::size_t node = 1; node < s.solution.volts.size(); ++node) {
      Solution other = s.solution;
      other.volts[node] = bad;
      CAPTURE(bad, node);
      CHECK_FALSE(s.against(other).agrees);
      // Nor with itself.
      CHECK_FALSE(agree(s.circuit, s.network, other, other).agrees);
    }
    Solution other = s.solution;
    other.currents.diodes[0] = bad;
    CHECK_FALSE(s.against(other).agrees);
    CHECK_FALSE(agree(s.circuit, s.network, other, other).agrees);
  }
}

TEST_CASE("each current of each element is compared", "[check][agreement]") {
  const Solved s;
  const auto moved = [&](double& amps, Solution& other, double open = 0.0) {
    const double before = amps;
    const double allowed = 1e-9 + 1e-6 * std::abs(before) + open;
    amps = before + 1.05 * allowed;
    const bool far = s.against(other).agrees;
    amps = before;
    return !far;
  };
  Solution other = s.solution;
  auto& c = other.currents;
  REQUIRE_FALSE(c.resistors.empty());
  for (std::size_t k = 0; k < c.resistors.size(); ++k)
    CHECK(moved(c.resistors[k], other, 1e-6 / s.network.values.ohms[k]));
  for (auto* list : {&c.capacitors, &c.inductors, &c.voltage_sources,
                     &c.current_sources, &c.diodes}) {
    REQUIRE_FALSE(list->empty());
    for (double& amps : *list) CHECK(moved(amps, other));
  }
  for (auto* list : {&c.bipolars, &c.mosfets, &c.regulators}) {
    REQUIRE_FALSE(list->empty());
    for (auto& ends : *list) {
      for (double& amps : ends) CHECK(moved(amps, other));
    }
  }
  CHECK(s.against(other).agrees);
}

TEST_CASE("a current that differs is named by its part and pin", "[check][agreement]") {
  const Solved s;
  Solution other = s.solution;
  other.currents.bipolars[0][2] *= 1.001;
  const Agreement a = s.against(other);
  CHECK_FALSE(a.agrees);
  CHECK(a.part == "q");
  CHECK(a.pin == "emitter");
  CHECK_THAT(a.reason, Catch::Contains("'q.emitter'"));
}

TEST_CASE("two that agree on what breaks the equations do not pass",
          "[check][agreement]") {
  const Solved s;
  Solution wrong = s.solution;
  wrong.volts[s.node("mid")] += 1e-3;
  const Agreement a = agree(s.circuit, s.network, wrong, wrong);
  CHECK_FALSE(a.agrees);
  CHECK_THAT(a.reason, Catch::Contains("do not add up at 'mid'"));
  CHECK(a.engine_residual > 1e-9);
}

TEST_CASE("a witness that failed is told with its words", "[check][agreement]") {
  const Solved s;
  Solution failed;
  failed.status = SolveStatus::no_convergence;
  failed.reason = "'mid' would not settle";
  CHECK_THAT(s.against(failed).reason,
             Catch::Contains("engine witness found no solution: 'mid' would not"));
  CHECK_THAT(agree(s.circuit, s.network, s.solution, failed).reason,
             Catch::Contains("nodal witness"));
  failed.status = SolveStatus::engine_lost;
  CHECK_THAT(s.against(failed).reason, Catch::Contains("was lost"));
  failed.status = SolveStatus::engine_failed;
  CHECK_THAT(s.against(failed).reason, Catch::Contains("failed"));
  // Both are told.
  const Agreement both = agree(s.circuit, s.network, failed, failed);
  CHECK_THAT(both.reason, Catch::Contains("engine") && Catch::Contains("nodal"));
}

TEST_CASE("a solution that lacks something does not agree", "[check][agreement]") {
  const Solved s;
  Solution shorter = s.solution;
  shorter.volts.pop_back();
  CHECK_FALSE(s.against(shorter).agrees);
  shorter = s.solution;
  shorter.currents.regulators.clear();
  CHECK_FALSE(s.against(shorter).agrees);
  CHECK_THAT(s.against(shorter).reason, Catch::Contains("left out"));
}

namespace {

/// 1.5 A through a coil at rest, with 10 ohm beside it, and 10 ohm behind 1 Mohm.
const char* const kCoilAtRest = R"([parts]
v = { kind = "voltage-source", voltage = "15 V" }
load = { kind = "resistor", value = "10R" }
coil = { kind = "inductor", value = "1 mH" }
beside = { kind = "resistor", value = "10R" }
far = { kind = "resistor", value = "1M" }
behind = { kind = "resistor", value = "10R" }
[nets]
hot = ["v.plus", "load.a", "far.a"]
wound = ["load.b", "coil.a", "beside.a"]
little = ["far.b", "behind.a"]
ground = ["v.minus", "coil.b", "beside.b", "behind.b"]
)";

/// Whether a witness agrees that has `amps` more in a resistor.
bool agrees_with_current(const std::string& part, double amps) {
  const Solved s{kCoilAtRest};
  REQUIRE(s.solution.status == SolveStatus::solved);
  Solution other = s.solution;
  const auto& resistors = s.network.structure->resistors;
  for (std::size_t k = 0; k < resistors.size(); ++k)
    if (s.circuit.parts[resistors[k].origin.part].name == part)
      other.currents.resistors[k] += amps;
  return s.against(other).agrees;
}

}  // namespace

// A solution in doubles leaves some 30 nV across a coil that carries so much, and the
// 10 ohm beside it tell them as 3 nA.
TEST_CASE("beside a coil at rest a current is no better than its voltage",
          "[check][agreement]") {
  CHECK(agrees_with_current("beside", 3e-9));
  CHECK_FALSE(agrees_with_current("beside", 0.11e-6));
  // A millionth of what flows at both its ends is the most.
  CHECK_FALSE(agrees_with_current("behind", 3e-9));
}

namespace {

/// A zener and a diode against each other across a coil that is on: what is between
/// them is set by what they leak. Beside them, a divider of many ohms.
const char* const kLeaks = R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
coil = { kind = "relay-coil", voltage = "12 V", current = "40 mA" }
d = { kind = "diode", type = "1N4001" }
z = { kind = "zener", type = "1N4744A" }
up = { kind = "resistor", value = "100M" }
down = { kind = "resistor", value = "100M" }
[nets]
hot = ["v.plus", "coil.a", "z.cathode", "up.a"]
between = ["z.anode", "d.cathode"]
half = ["up.b", "down.a"]
ground = ["v.minus", "coil.b", "d.anode", "down.b"]
)";

/// Whether a witness agrees that has moved one net.
bool agrees_with(const std::string& net, double volts) {
  const Solved s{kLeaks};
  REQUIRE(s.solution.status == SolveStatus::solved);
  Solution other = s.solution;
  other.volts[s.node(net)] += volts;
  return s.against(other).agrees;
}

}  // namespace

// One last digit of 12 V over the zener's 10 mohm is 2.7e-13 A, of which the 2 nS of
// both leaks make 0.14 mV.
TEST_CASE("what leaks alone set is right to what rounding makes of them",
          "[check][agreement]") {
  CHECK(agrees_with("between", 20e-6));
  CHECK_FALSE(agrees_with("between", 2e-3));
  // No series resistance, no cancellation.
  CHECK_FALSE(agrees_with("half", 20e-6));
  CHECK_FALSE(agrees_with("hot", 20e-6));
}
