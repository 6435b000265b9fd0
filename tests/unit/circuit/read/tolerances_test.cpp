// What a description tells of its copies. What is wrong with it stands in
// tests/diagnostics/tolerances*.toml.
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;

namespace {

ReadResult read_spread(const std::string& tolerances) {
  return read_circuit(R"(ambient = "22 C"
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
r1 = { kind = "resistor", value = "470R" }
r2 = { kind = "resistor", value = "470R" }
r3 = { kind = "resistor", value = "470R" }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "r1.a", "r2.a", "r3.a"]
top = ["r1.b", "r2.b", "r3.b", "lamp.anode"]
ground = ["feed.minus", "lamp.cathode"]
[tolerances]
)" + tolerances,
                      "spread.toml", known_types());
}

Circuit good(const std::string& tolerances) {
  ReadResult result = read_spread(tolerances);
  CAPTURE(tolerances);
  for (const Diagnostic& d : result.diagnostics) UNSCOPED_INFO(d.message);
  REQUIRE(result.diagnostics.empty());
  REQUIRE(result.circuit);
  return std::move(*result.circuit);
}

}  // namespace

TEST_CASE("a tolerance is a share either way, two shares, or two values",
          "[circuit][tolerances]") {
  struct Row {
    const char* text;
    bool is_share;
    double least;
    double most;
    bool is_normal;
  };
  const Row row = GENERATE(
      Row{R"("r1.value" = "5%")", true, -0.05, 0.05, false},
      Row{R"("r1.value" = { within = "2%" })", true, -0.02, 0.02, false},
      Row{R"("r1.value" = { within = "2%", distribution = "normal" })", true, -0.02,
          0.02, true},
      Row{R"("r1.value" = { min = "-20%", max = "+50%" })", true, -0.2, 0.5, false},
      Row{R"("r1.value" = { min = "440 ohm", max = "0.5k", distribution = "uniform" })",
          false, 440.0, 500.0, false},
      Row{R"(ambient = { min = "15 C", max = "35 C" })", false, 15.0, 35.0, false},
      Row{R"("lamp.forward" = { min = "1.7 V", max = "2.2 V" })", false, 1.7, 2.2,
          false},
      // One end may be the value itself.
      Row{R"("r1.value" = { min = "0%", max = "+5%" })", true, 0.0, 0.05, false});
  const Circuit circuit = good(row.text);
  REQUIRE(circuit.spreadings.size() == 1);
  const Spreading& spreading = circuit.spreadings.front();
  CHECK(spreading.is_share == row.is_share);
  CHECK(spreading.is_normal == row.is_normal);
  CHECK(std::abs(spreading.least - row.least) <= 1e-12 * std::abs(row.least));
  CHECK(std::abs(spreading.most - row.most) <= 1e-12 * std::abs(row.most));
}

TEST_CASE("parts of one reel are told in one list or in several",
          "[circuit][tolerances]") {
  CHECK(good("together = [\"r1\", \"r2\"]").reels ==
        std::vector<std::vector<int>>{{1, 2}});
  CHECK(good("together = [[\"r3\", \"r1\"], [\"feed\", \"lamp\"]]").reels ==
        std::vector<std::vector<int>>{{3, 1}, {0, 4}});
}

TEST_CASE("what is nearest is proposed for a target that is not there",
          "[circuit][tolerances]") {
  const ReadResult result = read_spread("\"r1.valeu\" = \"5%\"");
  REQUIRE(result.diagnostics.size() == 1);
  CHECK_THAT(result.diagnostics.front().hint, Catch::Contains("'r1.value'"));
  const ReadResult part = read_spread("lamp = \"5%\"");
  REQUIRE(part.diagnostics.size() == 1);
  CHECK_THAT(part.diagnostics.front().hint, Catch::Contains("\"lamp."));
}
