// What copies differ by: how far, and who says so.
#include "core/tolerance/copy/spreads.h"

#include <catch2/catch.hpp>
#include <set>

#include "core/network/spread.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;
using Catch::WithinRel;
using From = Spread::From;

namespace {

constexpr const char* kMixed = R"(
[parts]
jack  = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = true }
old   = { kind = "dc-supply", voltage = "9 V", no_load = "12 V", current = "500 mA", regulated = false }
reg   = { kind = "regulator", type = "7805" }
chip  = { kind = "controller", type = "cmos-5v", outputs = ["quay", "buoy"] }
r_own = { kind = "resistor", value = "330R", tolerance = "1%" }
r     = { kind = "resistor", value = "330R" }
c     = { kind = "capacitor", value = "100nF" }
bulk  = { kind = "capacitor", value = "100uF", polarised = true, rated = "25 V" }
coil  = { kind = "inductor", value = "1mH" }
red   = { kind = "led", colour = "red" }
own   = { kind = "led", drop = "2.1 V", current = "20 mA" }
d     = { kind = "diode", type = "1N4148" }
z     = { kind = "zener", type = "BZX55C5V1" }
q     = { kind = "transistor", type = "BC547B" }
m     = { kind = "mosfet", type = "IRLZ44N" }
[nets]
inlet = ["jack.plus", "reg.in", "bulk.plus", "coil.a", "m.drain"]
tail = ["coil.b", "d.anode"]
rail = ["reg.out", "chip.vdd", "c.a", "d.cathode", "q.collector"]
quay = ["chip.quay", "r_own.a", "m.gate"]
buoy = ["chip.buoy", "r.a"]
lamp = ["r_own.b", "red.anode"]
other = ["r.b", "own.anode", "q.base"]
nine = ["old.plus", "z.cathode"]
ground = ["jack.minus", "old.minus", "reg.common", "chip.vss", "c.b", "bulk.minus", "red.cathode", "own.cathode", "z.anode", "q.emitter", "m.source"]
[states.on]
"chip.quay" = "high"
)";

Spread of(const std::vector<Spread>& spreads, const std::string& target) {
  return spreads[index_of(spreads, target)];
}

bool has(const std::vector<Spread>& spreads, const std::string& target) {
  for (const Spread& spread : spreads)
    if (spread.target == target) return true;
  return false;
}

}  // namespace

TEST_CASE("a spread comes from the description, the type's sheet, or what is usual",
          "[tolerance][spreads]") {
  struct Row {
    const char* target;
    double below;  ///< As a share of the nominal value; a forward voltage in volts.
    double above;
    From from;
  };
  const std::vector<Spread> spreads = spreads_of(described(kMixed));
  const Row row = GENERATE(
      Row{"jack.voltage", 0.05, 0.05, From::assumed},
      Row{"old.voltage", 0.10, 0.10, From::assumed},
      Row{"r_own.value", 0.01, 0.01, From::given},
      Row{"r.value", 0.05, 0.05, From::assumed},
      Row{"c.value", 0.10, 0.10, From::assumed},
      Row{"bulk.value", 0.20, 0.20, From::assumed},
      Row{"coil.value", 0.20, 0.20, From::assumed},
      // 4.8 V to 5.2 V of 5 V (MC7800 sheet), 4.8 V to 5.4 V of 5.1 V (BZX55 sheet).
      Row{"reg.output", 0.04, 0.04, From::published},
      Row{"z.voltage", 0.3 / 5.1, 0.3 / 5.1, From::published});
  CAPTURE(row.target);
  const Spread spread = of(spreads, row.target);
  CHECK(spread.from == row.from);
  CHECK_FALSE(spread.source.empty());
  CHECK_FALSE(spread.is_normal);
  CHECK_THAT(spread.least, WithinRel(spread.nominal * (1.0 - row.below), 1e-12));
  CHECK_THAT(spread.most, WithinRel(spread.nominal * (1.0 + row.above), 1e-12));
}

TEST_CASE("junctions move by what is published of them, else by what is usual",
          "[tolerance][spreads]") {
  const Circuit circuit = described(kMixed);
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Part& red = circuit.parts[9];
  REQUIRE(red.name == "red");
  const Spread lamp = of(spreads, "red.forward");
  const DiodeModel& model = std::get<DiodeModel>(red.type->model);
  if (!red.type->points_least.empty()) {
    const ForwardPoint& least = red.type->points_least.front();
    CHECK_THAT(lamp.nominal - lamp.least,
               WithinAbs(forward_volts(model, least.amps) - least.volts, 1e-12));
  }
  CHECK(of(spreads, "d.forward").least < of(spreads, "d.forward").nominal);
  // No type, no curve of a type.
  CHECK_FALSE(has(spreads, "own.forward"));
  const Spread base = of(spreads, "q.base");
  CHECK(base.from == From::assumed);
  CHECK(base.least == -0.06);
  CHECK(base.most == 0.06);
  const Spread gain = of(spreads, "q.gain");
  CHECK(gain.from == From::published);
  CHECK(gain.least < gain.most);
  const Spread threshold = of(spreads, "m.threshold");
  CHECK(threshold.from == From::published);
  CHECK(threshold.least < threshold.nominal);
}

TEST_CASE("the description's word goes before the sheet's and before what is usual",
          "[tolerance][spreads]") {
  const std::vector<Spread> spreads = spreads_of(described(std::string(kMixed) + R"(
[tolerances]
ambient = { min = "15 C", max = "35 C" }
"jack.voltage" = "2%"
"bulk.value" = { min = "-20%", max = "+50%" }
"reg.output" = { min = "4.9 V", max = "5.05 V", distribution = "normal" }
"r_own.value" = { within = "0.5%" }
"r.power" = "10%"
)"));
  const Spread jack = of(spreads, "jack.voltage");
  CHECK(jack.from == From::given);
  CHECK_THAT(jack.least, WithinRel(11.76, 1e-12));
  const Spread bulk = of(spreads, "bulk.value");
  CHECK_THAT(bulk.least, WithinRel(80e-6, 1e-12));
  CHECK_THAT(bulk.most, WithinRel(150e-6, 1e-12));
  const Spread output = of(spreads, "reg.output");
  CHECK(output.is_normal);
  CHECK(output.least == 4.9);
  CHECK(output.most == 5.05);
  CHECK_THAT(of(spreads, "r_own.value").most, WithinRel(330.0 * 1.005, 1e-12));
  CHECK(of(spreads, "r.power").from == From::given);
  CHECK(spreads.back().target == "ambient");
  CHECK(spreads.back().least == 15.0);
}

TEST_CASE("pins of a chip share a draw, and so do like keys of one reel",
          "[tolerance][spreads]") {
  const std::vector<Spread> spreads = spreads_of(described(std::string(kMixed) + R"(
[tolerances]
together = [["r_own", "r"], ["c", "bulk"]]
)"));
  const auto draw = [&](const char* target) { return of(spreads, target).draw; };
  CHECK(draw("r_own.value") == draw("r.value"));
  CHECK(draw("c.value") == draw("bulk.value"));
  CHECK(draw("c.value") != draw("r.value"));
  CHECK(draw("chip.resistance_high") == draw("chip.resistance_low"));
  // All else has a draw of its own.
  std::set<std::size_t> draws;
  for (const Spread& spread : spreads) draws.insert(spread.draw);
  CHECK(draws.size() == spreads.size() - 3);
  CHECK(draws_of(spreads) == draws.size());
}

TEST_CASE("a state's own value takes its bounds along", "[tolerance][spreads]") {
  const Circuit circuit = described(std::string(kMixed) + R"(
[states.low]
"jack.voltage" = "9 V"
[tolerances]
"jack.voltage" = { min = "-10%", max = "+5%" }
)");
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Spread jack = of(spreads, "jack.voltage");
  const std::vector<Part> parts = parts_in(circuit, circuit.states.back());
  CHECK_THAT(value_at(jack, parts, 0.0), WithinRel(8.1, 1e-12));
  CHECK_THAT(value_at(jack, parts, 1.0), WithinRel(9.45, 1e-12));
  CHECK_THAT(value_at(jack, parts, nominal_place(jack)), WithinRel(9.0, 1e-12));
}

TEST_CASE("every spread of every template has its bounds around what is described",
          "[tolerance][spreads]") {
  std::size_t count = 0;
  for (const Circuit& circuit : templates()) {
    for (const Spread& spread : spreads_of(circuit)) {
      CAPTURE(circuit.title, spread.target);
      CHECK(spread.least < spread.most);
      CHECK(spread.least <= spread.nominal);
      CHECK(spread.nominal <= spread.most);
      CHECK_FALSE(spread.source.empty());
      ++count;
    }
  }
  CHECK(count > 300 / kOneOf);
}
