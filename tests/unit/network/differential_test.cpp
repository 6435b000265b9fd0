// Differentials held against what is observed of two solutions that lie close together.
#include "core/network/differential.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/nodal/nodal_solver.h"
#include "tests/unit/network/lowered.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

constexpr const char* kCircuit = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V" }
pot = { kind = "trimmer", value = "10k", turn = 0.4 }
reg = { kind = "regulator", type = "7805" }
rb = { kind = "resistor", value = "10k" }
npn = { kind = "transistor", type = "BC547" }
rc = { kind = "resistor", value = "330R" }
lamp = { kind = "led", colour = "red" }
[nets]
inlet = ["jack.plus", "reg.in", "rc.a"]
rail = ["reg.out", "pot.a"]
tap = ["pot.wiper", "rb.a"]
base = ["rb.b", "npn.base"]
anode = ["rc.b", "lamp.anode"]
collector = ["lamp.cathode", "npn.collector"]
ground = ["jack.minus", "reg.common", "pot.b", "npn.emitter"]
)";

/// What a differential says of the way from one solution to another.
double moved(const Differential& by, const Solution& from, const Solution& to) {
  double sum = 0.0;
  for (std::size_t k = 0; k < by.by_volts.size(); ++k)
    sum += by.by_volts[k] * (to.volts[k] - from.volts[k]);
  for (const auto& list : kTwoEnded) {
    for (std::size_t k = 0; k < (by.by_amps.*list.amps).size(); ++k)
      sum += (by.by_amps.*list.amps)[k] *
             ((to.currents.*list.amps)[k] - (from.currents.*list.amps)[k]);
  }
  for (const auto& list : kThreeEnded) {
    for (std::size_t k = 0; k < (by.by_amps.*list.amps).size(); ++k) {
      for (int end = 0; end < 3; ++end)
        sum += (by.by_amps.*list.amps)[k][end] *
               ((to.currents.*list.amps)[k][end] - (from.currents.*list.amps)[k][end]);
    }
  }
  return sum;
}

}  // namespace

TEST_CASE("differentials move as what is observed", "[network][differential]") {
  const Lowered l = lowered(kCircuit);
  const Structure& s = *l.network.structure;
  const Solution before = solve_nodal(l.network);
  // The supply and the collector's resistor move by a part in 10,000.
  constexpr double kShare = 1e-4;
  Network moved_network = l.network;
  for (double& volts : moved_network.values.volts) volts *= 1.0 + kShare;
  for (double& ohms : moved_network.values.ohms) ohms *= 1.0 - kShare;
  const Solution after = solve_nodal(moved_network);
  const Observation from = observe(l.circuit, l.network, before);
  const Observation to = observe(l.circuit, moved_network, after);

  for (int net = 0; net < s.nets; ++net) {
    CAPTURE(l.circuit.nets[net].name);
    CHECK_THAT(moved(differential_of_volts(s, net), before, after),
               WithinAbs(to.net_volts[net] - from.net_volts[net], 1e-14));
  }
  for (std::size_t part = 0; part < l.circuit.parts.size(); ++part) {
    CAPTURE(l.circuit.parts[part].name);
    const int index = static_cast<int>(part);
    for (std::size_t pin = 0; pin < from.pin_amps[part].size(); ++pin) {
      CAPTURE(pin);
      const Differential amps = differential_of_amps(s, index, static_cast<int>(pin));
      CHECK_THAT(moved(amps, before, after),
                 WithinAbs(to.pin_amps[part][pin] - from.pin_amps[part][pin], 1e-15));
    }
    // A product: what both factors move by together is left out, the square of the
    // share of some watts.
    CHECK_THAT(
        moved(differential_of_watts(l.circuit, s, from, index), before, after),
        WithinAbs(to.part_watts[part] - from.part_watts[part], 20.0 * kShare * kShare));
    CHECK(std::abs(to.part_watts[part] - from.part_watts[part]) > 1e-8);
  }
}

TEST_CASE("differentials of differences are differences", "[network][differential]") {
  const Lowered l = lowered(kCircuit);
  const Structure& s = *l.network.structure;
  Differential difference = differential_of_volts(s, l.node("rail"));
  add(difference, differential_of_volts(s, l.node("tap")), -1.0);
  add(difference, differential_of_amps(s, l.part("npn"), 0), 2.0);
  add(difference, differential_of_amps(s, l.part("rc"), 1), 3.0);
  CHECK(difference.by_volts[l.node("rail")] == 1.0);
  CHECK(difference.by_volts[l.node("tap")] == -1.0);
  CHECK(difference.by_volts[l.node("base")] == 0.0);
  const Solution solution = solve_nodal(l.network);
  const Observation seen = observe(l.circuit, l.network, solution);
  const Solution nothing = [&] {
    Solution none = solution;
    none.volts.assign(none.volts.size(), 0.0);
    none.currents = no_differential(s).by_amps;
    return none;
  }();
  CHECK_THAT(moved(difference, nothing, solution),
             WithinRel(seen.net_volts[l.node("rail")] - seen.net_volts[l.node("tap")] +
                           2.0 * seen.pin_amps[l.part("npn")][0] +
                           3.0 * seen.pin_amps[l.part("rc")][1],
                       1e-12));
}
