#include "core/nodal/sensitivities.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <initializer_list>
#include <stdexcept>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "core/network/observation.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"
#include "tests/unit/network/lowered.h"

using namespace benchproof;
using namespace benchproof::test;

namespace {

/// A supply with a lamp's resistor and diode, and a transistor that a divider drives.
Network lamps(double ohms = 470.0) {
  HandNetwork hand(6);
  hand.voltage_source(1, 0, 9.0);
  hand.resistor(1, 2, ohms);
  DiodeModel led;
  led.is = 1e-18;
  led.n = 2.0;
  led.rs = 3.0;
  hand.diode(2, 3, led);
  hand.resistor(1, 4, 1e4);
  hand.resistor(4, 0, 4.7e3);
  hand.resistor(4, 5, 1e3);
  hand.bipolar(3, 5, 0, {});
  return hand.network();
}

/// All figures that a person sees: net voltages, pin currents, powers.
struct Figures {
  std::vector<std::string> names;
  std::vector<Differential> differentials;
};

Figures figures_of(const Circuit& circuit, const Structure& s,
                   const Observation& seen) {
  Figures f;
  for (int net = 1; net < s.nets; ++net) {
    f.names.push_back(circuit.nets[net].name);
    f.differentials.push_back(differential_of_volts(s, net));
  }
  for (std::size_t p = 0; p < circuit.parts.size(); ++p) {
    const Part& part = circuit.parts[p];
    const int index = static_cast<int>(p);
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin) {
      f.names.push_back(part.name + "." + part.pins[pin]);
      f.differentials.push_back(differential_of_amps(s, index, static_cast<int>(pin)));
    }
    f.names.push_back(part.name + ", watts");
    f.differentials.push_back(differential_of_watts(circuit, s, seen, index));
  }
  return f;
}

/// Their values, in the same order.
std::vector<double> values_of(const Observation& seen) {
  std::vector<double> values(seen.net_volts.begin() + 1, seen.net_volts.end());
  for (std::size_t p = 0; p < seen.pin_amps.size(); ++p) {
    values.insert(values.end(), seen.pin_amps[p].begin(), seen.pin_amps[p].end());
    values.push_back(seen.part_watts[p]);
  }
  return values;
}

std::vector<double> observed(const Circuit& circuit, const State& state) {
  const Network network = lower(circuit, state);
  const Solution solution = solve_nodal(network);
  REQUIRE(solution.status == SolveStatus::solved);
  return values_of(observe(circuit, network, solution));
}

/// Central differences of all figures as a number of the description moves.
template <class At>
std::vector<double> differences(double present, const At& at) {
  const auto around = [&](double step) {
    std::vector<double> up = at(present + step);
    const std::vector<double> down = at(present - step);
    for (std::size_t f = 0; f < up.size(); ++f)
      up[f] = (up[f] - down[f]) / (2.0 * step);
    return up;
  };
  const double step = present == 0.0 ? 1e-3 : 1e-3 * std::abs(present);
  const std::vector<double> coarse = around(2.0 * step);
  std::vector<double> fine = around(step);
  for (std::size_t f = 0; f < fine.size(); ++f)  // Richardson's extrapolation.
    fine[f] = (4.0 * fine[f] - coarse[f]) / 3.0;
  return fine;
}

/// What the difference leaves of its fourth power, a step of 1e-3 (1e-12, times how
/// much sharper the network bends), and what is left over of volts, amperes and watts
/// that are solved for to 1e-12, over that step.
constexpr double kShare = 1e-6;
constexpr double kRounding = 1e-8;

constexpr const char* kMany = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "9V" }
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = false, no_load = "15 V" }
wire = { kind = "wire", gauge = "0.14 mm2", length = "2 m" }
reg = { kind = "regulator", type = "7805" }
own = { kind = "regulator", output = "3.3 V", dropout = "0.4 V", limit = "0.5 A", quiescent = "1 mA" }
pot = { kind = "trimmer", value = "10k", turn = 0.3 }
coil = { kind = "inductor", value = "10 mH", dcr = "5 ohm" }
lamp = { kind = "lamp", voltage = "12 V", current = "0.05 A" }
npn = { kind = "transistor", type = "BC547" }
fet = { kind = "mosfet", type = "2N7000" }
rb = { kind = "resistor", value = "10k" }
rz = { kind = "resistor", value = "330R" }
zen = { kind = "zener", voltage = "3.3 V" }
led = { kind = "led", drop = "2 V", slope = "10 ohm" }
red = { kind = "led", colour = "red" }
rl = { kind = "resistor", value = "470R" }
rr = { kind = "resistor", value = "220R" }
src = { kind = "current-source", current = "3 mA" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["one", "two"] }
cap = { kind = "capacitor", value = "1uF" }
[nets]
ground = ["cell.minus", "jack.minus", "reg.common", "own.common", "pot.b", "npn.emitter", "fet.source", "zen.anode", "led.cathode", "red.cathode", "src.minus", "chip.vss", "cap.b"]
inlet = ["jack.plus", "wire.a"]
raw = ["wire.b", "reg.in", "lamp.a"]
far = ["cell.plus", "coil.a", "src.plus"]
load = ["coil.b", "rz.a"]
zed = ["rz.b", "zen.cathode"]
rail = ["reg.out", "chip.vdd", "pot.a", "cap.a", "own.in"]
low = ["own.out", "rr.a"]
glow = ["rr.b", "red.anode"]
mid = ["pot.wiper", "fet.gate"]
gate = ["chip.one", "rb.a", "rl.a"]
base = ["rb.b", "npn.base"]
lamp_k = ["lamp.b", "npn.collector", "fet.drain"]
shine = ["rl.b", "led.anode"]
open = ["chip.two"]
[states.lit]
"chip.one" = "high"
)";

}  // namespace

TEST_CASE("keys of a description move its figures as their slopes say",
          "[nodal][sensitivities]") {
  Lowered l = lowered(kMany);
  Circuit& circuit = l.circuit;
  const State& state = circuit.states.front();
  const std::vector<Part> parts = parts_in(circuit, state);
  const Plan plan = make_plan(circuit, parts, l.network.structure);
  REQUIRE(plan.structure == l.network.structure);
  const Solution solution = solve_nodal(l.network);
  const Observation seen = observe(circuit, l.network, solution);
  const Figures figures = figures_of(circuit, *l.network.structure, seen);
  const std::vector<double> values = values_of(seen);
  const auto slopes =
      Sensitivities(plan.structure).at(l.network, solution, figures.differentials);
  REQUIRE(slopes);
  int moving = 0;
  const auto check = [&](const std::string& key, double present, const Feeds& feeds,
                         const std::vector<double>& found) {
    CAPTURE(key);
    const double size = present == 0.0 ? 1.0 : std::abs(present);
    for (std::size_t f = 0; f < found.size(); ++f) {
      CAPTURE(figures.names[f], values[f]);
      const double slope = slopes->by(f, feeds);
      CHECK(std::abs(slope - found[f]) <=
            kShare * std::abs(found[f]) + kRounding / size);
      if (std::abs(slope) * size > 1e3 * kRounding) ++moving;
    }
  };
  for (std::size_t p = 0; p < parts.size(); ++p) {
    for (auto& [key, setting] : circuit.parts[p].settings) {
      auto* number = std::get_if<double>(&setting.value);
      if (number == nullptr) continue;
      const double present = *number;
      const Feeds feeds =
          feeds_of(plan, circuit, parts, state, static_cast<int>(p), key);
      const auto at = [&, n = number](double there) {
        *n = there;
        return observed(circuit, state);
      };
      check(parts[p].name + "." + key, present, feeds, differences(present, at));
      *number = present;
    }
  }
  const double present = circuit.ambient;
  const auto at = [&](double there) {
    circuit.ambient = there;
    return observed(circuit, state);
  };
  const Feeds feeds = ambient_feeds(plan, l.circuit, parts, state);
  check("ambient", present, feeds, differences(present, at));
  CHECK(moving > 150);
}

TEST_CASE("one object serves other values of its structure", "[nodal][sensitivities]") {
  const Network first = lamps();
  Network second = first;
  second.values.ohms[0] = 1e3;
  second.values.volts[0] = 5.0;
  const Differential figure = differential_of_volts(*first.structure, 3);
  Sensitivities kept(first.structure);
  for (const Network* network :
       std::initializer_list<const Network*>{&first, &second, &first}) {
    const Solution solution = solve_nodal(*network);
    const auto again = kept.at(*network, solution, {figure, figure});
    const auto anew = Sensitivities(first.structure).at(*network, solution, {figure});
    REQUIRE((again && anew));
    CHECK(again->figures() == 2);
    for (std::size_t k = 0; k <= anew->order().size(); ++k) {
      // Other pivots round otherwise: n eps cond.
      const double allowed = 1e-9 * std::abs(anew->of(0)[k]);
      CHECK(std::abs(again->of(0)[k] - anew->of(0)[k]) <= allowed);
      CHECK(again->of(1)[k] == again->of(0)[k]);
    }
  }
  CHECK(kept.at(first, solve_nodal(first), {})->figures() == 0);
}

TEST_CASE("a differential of differences has the slopes' difference",
          "[nodal][sensitivities]") {
  const Network network = lamps();
  const Structure& s = *network.structure;
  const Solution solution = solve_nodal(network);
  Differential difference = differential_of_volts(s, 2);
  add(difference, differential_of_volts(s, 3), -1.0);
  const auto slopes =
      Sensitivities(network.structure)
          .at(network, solution,
              {differential_of_volts(s, 2), differential_of_volts(s, 3), difference});
  REQUIRE(slopes);
  for (std::size_t k = 0; k <= slopes->order().size(); ++k) {
    const double terms = std::abs(slopes->of(0)[k]) + std::abs(slopes->of(1)[k]);
    CHECK(std::abs(slopes->of(0)[k] - slopes->of(1)[k] - slopes->of(2)[k]) <=
          1e-12 * terms);
  }
}

TEST_CASE("what the equations do not determine has no slopes",
          "[nodal][sensitivities]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 0, 1e3);
  hand.mosfet(1, 2, 0, {});  // Nothing holds its gate.
  const Network network = hand.network();
  Solution made_up;
  made_up.volts = {0.0, 5.0, 0.0};
  made_up.currents = no_differential(*network.structure).by_amps;
  Sensitivities sensitivities(network.structure);
  CHECK_FALSE(sensitivities.at(network, made_up,
                               {differential_of_volts(*network.structure, 2)}));
}

TEST_CASE("sensitivities refuse what is not of their structure",
          "[nodal][sensitivities]") {
  CHECK_THROWS_AS(Sensitivities(nullptr), std::invalid_argument);
  const Network network = lamps();
  const Network other = lamps();
  const Solution solution = solve_nodal(network);
  Sensitivities sensitivities(network.structure);
  CHECK_THROWS_AS(sensitivities.at(other, solution, {}), std::invalid_argument);
  CHECK_THROWS_AS(sensitivities.at(network, Solution(), {}), std::invalid_argument);
  CHECK_THROWS_AS(sensitivities.at(network, solution, {Differential()}),
                  std::invalid_argument);
  Network broken = network;
  broken.values.ohms[0] = -1.0;
  CHECK_THROWS_AS(sensitivities.at(broken, solution, {}), std::invalid_argument);
  // It may be moved, as solvers are.
  Sensitivities moved = std::move(sensitivities);
  CHECK(moved.at(network, solution, {}));
}
