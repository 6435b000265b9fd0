// A plan and what fills it, held against lowering the whole circuit anew.
#include "core/network/plan.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "core/circuit/topology.h"
#include "core/network/edits.h"
#include "tests/unit/network/lowered.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinRel;

namespace {

namespace fs = std::filesystem;

bool is_same(const Values& a, const Values& b) {
  return a.ohms == b.ohms && a.farads == b.farads && a.coils == b.coils &&
         a.stray_farads == b.stray_farads && a.volts == b.volts && a.amps == b.amps &&
         a.diodes == b.diodes && a.bipolars == b.bipolars && a.mosfets == b.mosfets &&
         a.regulators == b.regulators;
}

/// Every template, read.
std::vector<Circuit> templates(const Catalogue& catalogue) {
  std::vector<Circuit> circuits;
  for (const auto& entry : fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/circuits")) {
    if (entry.path().extension() != ".toml" ||
        entry.path().string().find(".recorded.") != std::string::npos)
      continue;
    std::ifstream file(entry.path());
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    ReadResult read = read_circuit(text, entry.path().string(), catalogue);
    if (read.circuit) circuits.push_back(std::move(*read.circuit));
  }
  return circuits;
}

constexpr const char* kParts = R"(
[parts]
cell = { kind = "battery", chemistry = "alkaline", size = "AA", cells = 3 }
trim = { kind = "trimmer", value = "10k", turn = 0.4 }
r = { kind = "resistor", value = "1k" }
c = { kind = "capacitor", value = "1uF", esr = "1 ohm" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["cell.plus", "trim.a", "c.a", "chip.vdd"]
tap = ["trim.wiper", "r.a"]
quay = ["chip.quay", "lamp.anode"]
ground = ["cell.minus", "trim.b", "r.b", "c.b", "chip.vss", "lamp.cathode"]
[states.lit]
"chip.quay" = "high"
[states.told]
"chip.quay" = "high"
"chip.resistance_high" = "100 ohm"
)";

}  // namespace

TEST_CASE("one plan holds for every state of a template", "[network][plan]") {
  const Catalogue catalogue = built_in_catalogue();
  int filled = 0;
  for (const Circuit& circuit : templates(catalogue)) {
    CAPTURE(circuit.title);
    const Plan plan = make_plan(circuit, parts_in(circuit, circuit.states.front()));
    for (const State& state : circuit.states) {
      for (const Phase& phase : phases(circuit, state)) {
        const Network whole = lower(circuit, phase.state, plan.structure);
        // A state may ask for other elements (an ESR of 0): not of these.
        REQUIRE(whole.structure == plan.structure);
        Values values;
        REQUIRE(fill(plan, circuit, parts_in(circuit, state), phase.state, values));
        CHECK(is_same(values, whole.values));
        ++filled;
      }
    }
  }
  CHECK(filled > 80);
}

TEST_CASE("one part filled in anew is the whole lowered anew", "[network][plan]") {
  const Catalogue catalogue = built_in_catalogue();
  int moved = 0;
  for (Circuit& circuit : templates(catalogue)) {
    CAPTURE(circuit.title);
    const State state = phases(circuit, circuit.states.front()).front().state;
    std::vector<Part> parts = parts_in(circuit, state);
    const Plan plan = make_plan(circuit, parts);
    Values values;
    REQUIRE(fill(plan, circuit, parts, state, values));
    for (std::size_t k = 0; k < parts.size(); ++k) {
      for (auto& [key, setting] : circuit.parts[k].settings) {
        double* number = std::get_if<double>(&setting.value);
        if (number == nullptr || state.settings.contains({static_cast<int>(k), key}))
          continue;
        CAPTURE(parts[k].name, key);
        *number *= 1.25;
        parts[k] = part_in(circuit, state, static_cast<int>(k));
        REQUIRE(fill_part(plan, circuit, parts, state, static_cast<int>(k), values));
        CHECK(is_same(values, lower(circuit, state).values));
        ++moved;
      }
    }
  }
  CHECK(moved > 300);
}

TEST_CASE("a plan does not hold where values ask for other elements",
          "[network][plan]") {
  Lowered l = lowered(kParts);
  const State& state = l.circuit.states.front();
  std::vector<Part> parts = parts_in(l.circuit, state);
  const Plan plan = make_plan(l.circuit, parts);
  const int c = l.part("c");
  Values values = l.network.values;
  parts[c].settings["esr"].value = 0.0;
  CHECK_FALSE(fill_part(plan, l.circuit, parts, state, c, values));
  // What was there stays.
  CHECK(is_same(values, l.network.values));
  CHECK_FALSE(fill(plan, l.circuit, parts, state, values));
}

TEST_CASE("the slots that a key feeds are known", "[network][plan]") {
  const Lowered l = lowered(kParts);
  const State& state = l.circuit.states.front();
  const std::vector<Part> parts = parts_in(l.circuit, state);
  const Plan plan = make_plan(l.circuit, parts);
  const auto slots = [&](std::string_view part, std::string_view key) {
    return slots_of(plan, l.circuit, parts, state, l.part(part), key);
  };
  REQUIRE(slots("r", "value").size() == 1);
  CHECK(slots("r", "value")[0].list == ValueList::ohms);
  CHECK(l.network.values.ohms[slots("r", "value")[0].index] == 1000.0);
  CHECK(slots("trim", "turn").size() == 2);
  CHECK(slots("c", "value") == std::vector<Slot>{{ValueList::farads, 0}});
  REQUIRE(slots("c", "esr").size() == 1);
  CHECK(slots("c", "esr")[0].list == ValueList::ohms);
  // Cells in series add their resistances and their voltages.
  CHECK(slots("cell", "cells").size() == 2);
  CHECK(slots("chip", "resistance_high").size() == 1);
  CHECK(slots("chip", "resistance_low").empty());  // The output is high.
  CHECK(slots("r", "power").empty());
  CHECK(slots("r", "no-such-key").empty());
}

TEST_CASE("how a key feeds its slots is known", "[network][plan]") {
  const Lowered l = lowered(kParts);
  const State& state = l.circuit.states.front();
  const std::vector<Part> parts = parts_in(l.circuit, state);
  const Plan plan = make_plan(l.circuit, parts);
  const Values& values = l.network.values;
  const auto feeds = [&](std::string_view part, std::string_view key) {
    const Feeds found = feeds_of(plan, l.circuit, parts, state, l.part(part), key);
    CHECK(found.celsius == 0.0);
    return found.slots;
  };
  // Rounding, and what Richardson's extrapolation leaves: see `slopes_of`.
  constexpr double kExact = 2e-12;
  const auto only = [&](std::string_view part, std::string_view key, double rate) {
    CAPTURE(part, key);
    const std::vector<Feed> found = feeds(part, key);
    REQUIRE(found.size() == 1);
    CHECK_THAT(found[0].rate, WithinRel(rate, kExact));
  };
  only("r", "value", 1.0);
  only("c", "esr", 1.0);
  only("chip", "resistance_high", 1.0);
  // A resistance from a draw: operating_max / 1.1 / draw.
  const double draw = number_of(parts[l.part("chip")], "draw").value();
  const double top = number_of(parts[l.part("chip")], "operating_max").value();
  only("chip", "draw", -top / 1.1 / (draw * draw));
  // The wiper takes from one side what it gives to the other.
  const std::vector<Feed> turn = feeds("trim", "turn");
  REQUIRE(turn.size() == 2);
  CHECK_THAT(turn[0].rate, WithinRel(10e3, kExact));
  CHECK_THAT(turn[1].rate, WithinRel(-10e3, kExact));
  const std::vector<Feed> cells = feeds("cell", "cells");
  REQUIRE(cells.size() == 2);
  for (const Feed& feed : cells)
    CHECK_THAT(3.0 * feed.rate, WithinRel(value_at(values, feed.slot), kExact));
}

TEST_CASE("a key feeds numbers of a model", "[network][plan]") {
  const Lowered l = lowered(R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V" }
reg = { kind = "regulator", output = "5 V", dropout = "2 V", limit = "1 A" }
load = { kind = "resistor", value = "100R" }
trim = { kind = "trimmer", value = "10k", turn = 0 }
[nets]
inlet = ["jack.plus", "reg.in", "trim.a"]
rail = ["reg.out", "load.a", "trim.wiper"]
ground = ["jack.minus", "reg.common", "load.b", "trim.b"]
)");
  const State& state = l.circuit.states.front();
  const std::vector<Part> parts = parts_in(l.circuit, state);
  const Plan plan = make_plan(l.circuit, parts);
  const auto feeds = [&](std::string_view part, std::string_view key) {
    return feeds_of(plan, l.circuit, parts, state, l.part(part), key).slots;
  };
  const std::vector<Feed> dropout = feeds("reg", "dropout");
  REQUIRE(dropout.size() == 1);
  CHECK(name_of(dropout[0].slot) == "regulators[0].dropout");
  CHECK_THAT(dropout[0].rate, WithinRel(1.0, 1e-12));
  // At the trimmer's end one side keeps what it has.
  const std::vector<Feed> turn = feeds("trim", "turn");
  REQUIRE(turn.size() == 1);
  CHECK_THAT(turn[0].rate, WithinRel(-10e3, 1e-12));
}

TEST_CASE("the ambient temperature feeds what lowering moves with it",
          "[network][plan]") {
  const Lowered l = lowered(R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V" }
wire = { kind = "wire", gauge = "0.14 mm2", length = "2 m" }
load = { kind = "resistor", value = "100R" }
guard = { kind = "diode", drop = "0.7 V" }
[nets]
inlet = ["jack.plus", "wire.a"]
far = ["wire.b", "load.a"]
near = ["load.b", "guard.anode"]
ground = ["jack.minus", "guard.cathode"]
)");
  const State& state = l.circuit.states.front();
  const std::vector<Part> parts = parts_in(l.circuit, state);
  const Plan plan = make_plan(l.circuit, parts);
  const Feeds feeds = ambient_feeds(plan, l.circuit, parts, state);
  CHECK(feeds.celsius == 1.0);
  // Copper's drift; an ideal junction, whose nominal temperature goes along, and the
  // source that makes its drop exact.
  REQUIRE(feeds.slots.size() == 3);
  CHECK(feeds.slots[0].slot.list == ValueList::ohms);
  const double ohms = value_at(l.network.values, feeds.slots[0].slot);
  const double drift =
      number_of(parts[l.part("wire")], "resistivity_drift_per_kelvin").value();
  CHECK_THAT(
      feeds.slots[0].rate,
      WithinRel(ohms * drift / (1.0 + drift * (l.circuit.ambient - 20.0)), 1e-9));
  CHECK(feeds.slots[1].slot.list == ValueList::volts);
  CHECK(name_of(feeds.slots[2].slot) == "diodes[0].tnom");
  CHECK_THAT(feeds.slots[2].rate, WithinRel(1.0, 1e-12));
}

TEST_CASE("strong pins are an edit of the network", "[network][edits]") {
  const Lowered l = lowered(kParts);
  const auto strong = with_strong_pins(l.circuit, l.circuit.states[0], l.network);
  REQUIRE(strong);
  CHECK(strong->structure == l.network.structure);
  int changed = 0;
  for (std::size_t k = 0; k < l.network.values.ohms.size(); ++k) {
    if (strong->values.ohms[k] == l.network.values.ohms[k]) continue;
    ++changed;
    CHECK(strong->values.ohms[k] == kStrongOhms);
    CHECK(l.network.structure->resistors[k].origin.part == l.part("chip"));
  }
  CHECK(changed == 1);
  // What the description says of its pins counts.
  const State& told = l.circuit.states[1];
  CHECK_FALSE(with_strong_pins(l.circuit, told, lower(l.circuit, told)));
}

TEST_CASE("a probe adds a current source of 0 A and nothing else", "[network][edits]") {
  const Lowered l = lowered(kParts);
  const Network probed = with_probe(l.network, 1, 0);
  CHECK(probed.structure->current_sources.size() ==
        l.network.structure->current_sources.size() + 1);
  CHECK(probed.values.amps.back() == 0.0);
  CHECK(probed.structure->resistors == l.network.structure->resistors);
}
