#include "core/assemble/build_order.h"

#include <cmath>
#include <filesystem>
#include <set>

#include "core/assemble/wire_colours.h"
#include "core/circuit/topology.h"
#include "tests/files.h"
#include "tests/unit/check/bench.h"

using namespace benchproof;
using benchproof::bench::Bench;
using benchproof::bench::verified;

namespace {

namespace fs = std::filesystem;

BuildOrder order_of(const Bench& bench) {
  return build_order(bench.circuit, part_flows(bench.circuit, bench.verification));
}

/// The names of all parts in the order in which they are placed.
std::vector<std::string> names_of(const Bench& bench, const BuildOrder& order) {
  std::vector<std::string> names;
  for (const BuildStage& stage : order.stages)
    for (const int part : stage.parts) names.push_back(bench.circuit.parts[part].name);
  return names;
}

/// The templates that stand alone: no block files and records.
std::vector<std::string> templates() {
  std::vector<std::string> paths;
  for (const auto& entry :
       fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) / "circuits")) {
    const std::string path = entry.path().string();
    const bool is_other = path.find(".recorded.") != std::string::npos ||
                          path.find("signal-mast") != std::string::npos ||
                          path.find("mast-lamp") != std::string::npos;
    if (entry.path().extension() == ".toml" && !is_other) paths.push_back(path);
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

/// The part at the end of a net of two pins from which the current comes, and the one
/// into which it goes, in the state in which it is largest; by the solution alone.
struct Along {
  int from = -1;
  int to = -1;
};
Along along(const Bench& bench, int net) {
  constexpr double kSome = 1e-6;
  Along best;
  double most = kSome;
  const auto pins = resting_pins(bench.circuit, net);
  if (pins.size() != 2) return best;
  for (const StateResult& state : bench.verification.states) {
    for (const int k : {0, 1}) {
      const double amps = state.nodal.pin_amps[pins[k].part][pins[k].pin];
      if (amps <= most) continue;
      most = amps;
      best = {pins[1 - k].part, pins[k].part};
    }
  }
  return best;
}

const std::string kLamps = R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay", "buoy"] }
quay_r = { kind = "resistor", value = "220R" }
quay   = { kind = "led", colour = "red" }
buoy_r = { kind = "resistor", value = "220R" }
buoy   = { kind = "led", colour = "green" }
[nets]
rail = ["jack.plus", "chip.vdd"]
quay = ["chip.quay", "quay_r.a"]
quay_l = ["quay_r.b", "quay.anode"]
buoy = ["chip.buoy", "buoy_r.a"]
buoy_l = ["buoy_r.b", "buoy.anode"]
ground = ["jack.minus", "chip.vss", "quay.cathode", "buoy.cathode"]
[states.night]
"chip.quay" = "high"
"chip.buoy" = "high"
)";

}  // namespace

TEST_CASE("each template is built part by part, along the current", "[assemble]") {
  std::size_t series_nets = 0;
  for (const std::string& path : templates()) {
    CAPTURE(path);
    const Bench bench = verified(text_of(path));
    const BuildOrder order = order_of(bench);
    std::vector<int> placed_at(bench.circuit.parts.size(), -1);
    std::set<int> nets;
    int step = 0;
    for (const BuildStage& stage : order.stages) {
      for (const int index : stage.parts) {
        const Part& part = bench.circuit.parts[index];
        CAPTURE(part.name);
        CHECK(placed_at[index] == -1);
        placed_at[index] = step++;
        bool is_joined = is_source(part.kind);
        for (const int net : part.nets) {
          if (net < 0) continue;
          if (is_zero(bench.circuit, net) || nets.contains(net)) is_joined = true;
          nets.insert(net);
        }
        CHECK(is_joined);
      }
    }
    CHECK(step == static_cast<int>(bench.circuit.parts.size()));
    for (int net = 1; net < static_cast<int>(bench.circuit.nets.size()); ++net) {
      const Along way = along(bench, net);
      // Below ground the current comes back to its source; the work begins there too.
      const int line = order.lines.line_of_net[net];
      const bool is_below = line >= 0 && order.lines.lines[line].is_negative;
      // A chip that takes a lamp's current has its socket first.
      const bool is_sunk =
          way.to >= 0 && bench.circuit.parts[way.to].kind == KindId::controller;
      if (way.from < 0 || is_below || is_sunk) continue;
      ++series_nets;
      CAPTURE(bench.circuit.nets[net].name, bench.circuit.parts[way.from].name,
              bench.circuit.parts[way.to].name);
      CHECK(placed_at[way.from] < placed_at[way.to]);
    }
  }
  CHECK(series_nets > 100);
}

TEST_CASE("the demo is built from its plug to its lamps", "[assemble]") {
  const Bench bench = verified(
      text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/circuits/harbour-light.toml"));
  const BuildOrder order = order_of(bench);
  CHECK(names_of(bench, order) ==
        std::vector<std::string>{"jack",    "guard",  "bulk",    "reg",      "hold",
                                 "chip",    "bypass", "quay1_r", "quay1",    "quay2_r",
                                 "quay2",   "buoy_r", "buoy",    "sector_r", "sector",
                                 "cabin_r", "cabin",  "base_r",  "lantern",  "driver"});
  REQUIRE(order.stages.size() == 9);
  CHECK(order.stages[2].sort == StageSort::socket);
  CHECK(order.stages[3].sort == StageSort::chip);
  CHECK(order.stages[3].parts.empty());
}

TEST_CASE("an output keeps its colour whatever else is added", "[assemble]") {
  const Bench bench = verified(kLamps);
  std::string more = kLamps;
  more.replace(more.find("outputs = [\"quay\", \"buoy\"]"),
               std::string("outputs = [\"quay\", \"buoy\"]").size(),
               "outputs = [\"quay\", \"buoy\", \"mast\"]");
  more.replace(more.find("[nets]"), 6,
               "mast_r = { kind = \"resistor\", value = \"220R\" }\n"
               "mast = { kind = \"led\", colour = \"red\" }\n"
               "[paths]\nmast = [\"chip.mast\", \"net:mast\", \"mast_r\", \"mast\", "
               "\"ground\"]\n[nets]");
  const Bench larger = verified(more);
  const auto colour = [](const Bench& of, const std::string& net) {
    const BuildOrder order = order_of(of);
    return wire_colours(of.circuit, order)[find_net(of.circuit, net)];
  };
  // Red and black: common practice, no source.
  CHECK(colour(bench, "rail") == "red");
  CHECK(colour(bench, "ground") == "black");
  for (const std::string net : {"quay", "quay_l", "buoy", "buoy_l"})
    CHECK(colour(bench, net) == colour(larger, net));
  CHECK(colour(bench, "quay") == colour(bench, "quay_l"));
  CHECK(colour(bench, "quay") != colour(bench, "buoy"));
  CHECK(colour(larger, "mast") != colour(larger, "quay"));
  CHECK(colour(larger, "mast") != colour(larger, "buoy"));
}

TEST_CASE("of parts side by side the flat one comes first", "[assemble]") {
  const Bench bench = verified(R"(
[parts]
pack = { kind = "battery", chemistry = "alkaline", size = "AA", cells = 3 }
tall = { kind = "capacitor", value = "100uF", rated = "16 V", polarised = true }
flat = { kind = "capacitor", value = "100nF", rated = "50 V" }
load = { kind = "resistor", value = "100R" }
[nets]
plus = ["pack.plus", "tall.plus", "flat.a", "load.a"]
ground = ["pack.minus", "tall.minus", "flat.b", "load.b"]
)");
  const auto names = names_of(bench, order_of(bench));
  const auto at = [&](const char* name) {
    return std::find(names.begin(), names.end(), name) - names.begin();
  };
  CHECK(at("pack") == 0);
  CHECK(at("flat") < at("tall"));
}
