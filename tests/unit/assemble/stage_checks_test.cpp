#include "core/assemble/stage_checks.h"

#include <fstream>
#include <iterator>

#include "core/assemble/as_built.h"
#include "core/assemble/wire_colours.h"
#include "core/circuit/topology.h"
#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"

using namespace benchproof;
using benchproof::bench::Bench;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

// What Newton's method leaves of a voltage (SolverOptions: 1e-9 of it), some times.
constexpr double kSolved = 1e-8;

struct Built {
  Bench bench;
  BuildOrder order;

  explicit Built(const std::string& text)
      : bench(verified(text)),
        order(build_order(bench.circuit,
                          part_flows(bench.circuit, bench.verification))) {}

  [[nodiscard]] StageChecks at(std::size_t stage) const {
    return stage_checks(bench.circuit, order, stage, bench.verification, by_nodal,
                        by_nodal);
  }
  [[nodiscard]] StageCheck of(const std::vector<StageCheck>& checks,
                              const std::string& net) const {
    for (const StageCheck& check : checks)
      if (check.net >= 0 && bench.circuit.nets[check.net].name == net) return check;
    FAIL("no check of " << net);
    return checks.front();
  }
};

std::string demo() {
  std::ifstream file(std::string(BENCHPROOF_SOURCE_DIR) +
                     "/circuits/harbour-light.toml");
  REQUIRE(file);
  return {std::istreambuf_iterator<char>(file), {}};
}

double volts(const Bench& bench, const std::string& net) {
  return bench.verification.states.front()
      .nodal.net_volts[find_net(bench.circuit, net)];
}

const std::string kSupplyPart = R"(
[parts]
jack  = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = true }
guard = { kind = "diode", type = "1N5819" }
bulk  = { kind = "capacitor", value = "470uF", rated = "25 V", polarised = true }
)";

}  // namespace

// The reduced circuits are written down by hand, with the meter as a part of them.
TEST_CASE("the demo's stages read as the reduced descriptions do", "[assemble]") {
  const Built demo_built(demo());
  SECTION("the supply alone") {
    const Bench reduced = verified(kSupplyPart + R"(
meter = { kind = "resistor", value = "10Mohm" }
[nets]
inlet = ["jack.plus", "guard.anode"]
raw = ["guard.cathode", "bulk.plus", "meter.a"]
ground = ["jack.minus", "bulk.minus", "meter.b"]
)");
    const StageChecks checks = demo_built.at(0);
    CHECK(checks.not_powered.empty());
    const StageCheck raw = demo_built.of(checks.on, "raw");
    REQUIRE(raw.nodal);
    CHECK_THAT(*raw.nodal, WithinRel(volts(reduced, "raw"), kSolved));
    CHECK(*raw.least < *raw.nodal);
    CHECK(*raw.most > *raw.nodal);
  }
  SECTION("with the regulator, without the chip") {
    const Bench reduced = verified(kSupplyPart + R"(
reg  = { kind = "regulator", type = "78L05" }
hold = { kind = "capacitor", value = "22uF", rated = "16 V", polarised = true }
meter = { kind = "resistor", value = "10Mohm" }
[nets]
inlet = ["jack.plus", "guard.anode"]
raw = ["guard.cathode", "bulk.plus", "reg.in"]
rail = ["reg.out", "hold.plus", "meter.a"]
ground = ["jack.minus", "bulk.minus", "reg.common", "hold.minus", "meter.b"]
)");
    const StageCheck rail = demo_built.of(demo_built.at(1).on, "rail");
    REQUIRE(rail.nodal);
    CHECK_THAT(*rail.nodal, WithinRel(volts(reduced, "rail"), kSolved));
    CHECK(rail.out.empty());
  }
  SECTION("the last one is the whole") {
    const StageChecks checks = demo_built.at(demo_built.order.stages.size() - 1);
    const StateResult& night = demo_built.bench.verification.states.front();
    REQUIRE(checks.state == 0);
    const int net = find_net(demo_built.bench.circuit, "lamp_k");
    const StageCheck lamp = demo_built.of(checks.on, "lamp_k");
    REQUIRE(lamp.nodal);
    // 10 Mohm beside some ohms of a transistor that is on: less than a millionth.
    CHECK_THAT(*lamp.nodal, WithinRel(night.nodal.net_volts[net], 1e-6));
  }
}

TEST_CASE("the chip is out of its socket until it is put in", "[assemble]") {
  const Built built(demo());
  const int chip = built.order.stages[2].about;
  CHECK(built.at(1).out.empty());
  CHECK(built.at(2).out == std::vector{chip});
  CHECK(built.at(3).out.empty());
  // Nothing is loaded yet: an output that is high stands at the rail.
  const StageChecks checks = built.at(3);
  CHECK_THAT(*built.of(checks.on, "quay").nodal,
             WithinAbs(*built.of(checks.on, "rail").nodal, 1e-3));
}

// Closed forms: a divider of two equal resistors beside 10 Mohm; both in parallel.
TEST_CASE("a divider's readings", "[assemble]") {
  const Built built(R"(
[parts]
jack = { kind = "dc-supply", voltage = "10 V", current = "1 A", regulated = true }
top  = { kind = "resistor", value = "1k", tolerance = "1%" }
low  = { kind = "resistor", value = "1k", tolerance = "1%" }
chip = { kind = "controller", type = "cmos-5v", inputs = ["a"] }
reg  = { kind = "regulator", type = "7805" }
[nets]
hot = ["jack.plus", "top.a", "reg.in"]
mid = ["top.b", "low.a"]
rail = ["reg.out", "chip.vdd"]
ground = ["jack.minus", "low.b", "reg.common", "chip.vss", "chip.a"]
[tolerances]
"jack.voltage" = "2%"
)");
  REQUIRE(built.order.stages.back().sort == StageSort::branch);
  const StageCheck mid = built.of(built.at(built.order.stages.size() - 1).on, "mid");
  const double beside = 1.0 / (1.0 / 1e3 + 1.0 / 10e6);
  CHECK_THAT(*mid.nodal, WithinRel(10.0 * beside / (1e3 + beside), kSolved));
  // At the corners: 2 % of the supply, 1 % of each resistor; then the meter's share of
  // 0.8 % and two counts of 10 mV.
  const double most = 10.2 * 1.01 / (1.01 + 0.99);
  CHECK_THAT(*mid.most, WithinRel(most * 1.008 + 0.02, 1e-4));
  const double least = 9.8 * 0.99 / (1.01 + 0.99);
  CHECK_THAT(*mid.least, WithinRel(least * 0.992 - 0.02, 1e-4));
}

TEST_CASE("ohms without power", "[assemble]") {
  const Built built(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
load = { kind = "resistor", value = "1k", tolerance = "1%" }
more = { kind = "resistor", value = "1k", tolerance = "1%" }
[nets]
hot = ["jack.plus", "load.a", "more.a"]
ground = ["jack.minus", "load.b", "more.b"]
)");
  const StageCheck hot = built.of(built.at(0).off, "hot");
  CHECK_FALSE(hot.is_powered);
  CHECK_THAT(*hot.nodal, WithinRel(500.0, 1e-6));
  CHECK_THAT(*hot.least, WithinRel(495.0 * 0.992 - 2.0, 1e-4));
  CHECK_THAT(*hot.most, WithinRel(505.0 * 1.008 + 2.0, 1e-4));
}

TEST_CASE("what the next part keeps within its rating is not powered before",
          "[assemble]") {
  // Without its load the zener takes all: (12 - 5.1) / 68 ohm = 101 mA, 0.52 W.
  const Built built(R"(
[parts]
jack  = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = true }
drop  = { kind = "resistor", value = "68R", power = "3 W" }
clamp = { kind = "zener", voltage = "5.1 V", power = "0.3 W" }
chip  = { kind = "controller", type = "cmos-5v", inputs = ["bell"] }
beam  = { kind = "lamp", voltage = "5 V", current = "90 mA" }
[nets]
hot = ["jack.plus", "drop.a"]
rail = ["drop.b", "clamp.cathode", "chip.vdd", "beam.a"]
ground = ["jack.minus", "clamp.anode", "chip.vss", "chip.bell", "beam.b"]
)");
  const StageChecks first = built.at(0);
  CHECK_THAT(first.not_powered, Catch::Contains("'clamp'"));
  CHECK(first.on.empty());
  const StageChecks last = built.at(built.order.stages.size() - 1);
  CHECK(last.not_powered.empty());
  CHECK_FALSE(last.on.empty());
}

TEST_CASE("a supply is not plugged in before its current can come back", "[assemble]") {
  const Built built(R"(
[parts]
jack  = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = true }
guard = { kind = "diode", type = "1N5819" }
load  = { kind = "resistor", value = "1k" }
lamp  = { kind = "led", colour = "red" }
[nets]
hot = ["jack.plus", "load.a"]
mid = ["load.b", "lamp.anode"]
back = ["guard.cathode", "jack.minus"]
ground = ["guard.anode", "lamp.cathode"]
)");
  CHECK_THAT(built.at(0).not_powered, Catch::Contains("way back"));
  const StageChecks last = built.at(built.order.stages.size() - 1);
  CHECK(last.not_powered.empty());
  CHECK_FALSE(last.on.empty());
  // A red wire at a minus would be read as a plus.
  const auto colours = wire_colours(built.bench.circuit, built.order);
  CHECK_THAT(colours[find_net(built.bench.circuit, "back")],
             Catch::StartsWith("black"));
  CHECK(colours[find_net(built.bench.circuit, "hot")] == "red");
}

TEST_CASE("what is not joined to anything that holds it is left out", "[assemble]") {
  const Bench bench = verified(kSupplyPart + R"(
load = { kind = "resistor", value = "1k" }
[nets]
inlet = ["jack.plus", "guard.anode"]
raw = ["guard.cathode", "bulk.plus", "load.a"]
ground = ["jack.minus", "bulk.minus", "load.b"]
)");
  std::vector<bool> there(bench.circuit.parts.size(), false);
  CHECK_FALSE(as_built(bench.circuit, there).is_whole);
  there[2] = true;  // The capacitor alone.
  const AsBuilt built = as_built(bench.circuit, there);
  CHECK_FALSE(built.is_whole);
  CHECK(built.parts[2] == -1);
}

// A worked example of the Yato YT-73081 manual, page 12: 1.396 V on 0.8 % and 5 counts
// of 1 mV is off by 0.016 V at most. The meter here has 2 counts.
TEST_CASE("how far the meter may be off", "[assemble]") {
  CHECK_THAT(meter_error(1.396) + 3 * 0.001, WithinAbs(0.016, 0.0005));
  CHECK_THAT(meter_error(-12.0), WithinRel(12.0 * 0.008 + 0.02, 1e-12));
  CHECK(meter_error(0.0) > 0.0);
}
