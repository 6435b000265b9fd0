// All of it, by the nodal witness in place of both.
#include "core/tolerance/tolerance.h"

#include <catch2/catch.hpp>

#include "tests/nodal_witness.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;

namespace {

const std::string kLamp = R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r = { kind = "resistor", value = "330R", tolerance = "10%" }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "r.a"]
top = ["r.b", "lamp.anode"]
ground = ["feed.minus", "lamp.cathode"]
)";

ToleranceResult tolerance_of_text(const Circuit& circuit, std::size_t copies) {
  const Solve witness = by_nodal;
  const Verification nominal = verify(circuit, witness, witness);
  return tolerance(circuit, nominal, {copies, 1}, witness, witness, in_turn);
}

}  // namespace

TEST_CASE("every copy works where nothing is asked too much", "[tolerance]") {
  const Circuit circuit =
      described(kLamp + "[[expect]]\npart = \"lamp\"\ncurrent = { max = \"15 mA\" }\n");
  const ToleranceResult result = tolerance_of_text(circuit, 2'000);
  CHECK(result.works == 2'000);
  CHECK(result.yield.share == 1.0);
  CHECK(result.helps.empty());
  CHECK(result.again.asked == 0);
  REQUIRE(result.states.size() == 1);
  for (const GaugeTolerance& gauge : result.states.front().gauges) {
    CHECK_FALSE(gauge.worst.least.fails);
    CHECK_FALSE(gauge.worst.most.fails);
    CHECK(gauge.worst.least.agrees);
    double sum = 0.0;
    for (const Driver& driver : gauge.drivers) sum += driver.share;
    CHECK(sum <= 1.0 + 1e-12);
  }
}

TEST_CASE("copies that fail fail in the usual way too, and better parts help",
          "[tolerance]") {
  const Circuit circuit =
      described(kLamp + "[[expect]]\npart = \"lamp\"\ncurrent = { min = \"9 mA\" }\n" +
                "[tolerances]\nambient = { min = \"0 C\", max = \"40 C\" }\n");
  const ToleranceResult result = tolerance_of_text(circuit, 5'000);
  CHECK(result.works > 500);
  CHECK(result.works < 4'500);
  CHECK(result.again.asked == kMostFailing);
  CHECK(result.again.fail == kMostFailing);
  CHECK(result.again.asked_both == 20);
  CHECK(result.again.fail_both == 20);
  const GaugeTolerance& gauge = result.states.front().gauges.front();
  CHECK(gauge.copies.failed == 5'000 - result.works);
  CHECK(gauge.worst.least.fails);
  REQUIRE(result.helps.size() == 1);
  CHECK(result.helps.front().change == "r.tolerance=1%");
  // By the same copies with that part.
  const Circuit better = described(
      "[parts]\nfeed = { kind = \"dc-supply\", voltage = \"5 V\", current = \"500 "
      "mA\", "
      "regulated = true }\nr = { kind = \"resistor\", value = \"330R\", tolerance = "
      "\"1%\" }\nlamp = { kind = \"led\", colour = \"red\" }\n" +
      kLamp.substr(kLamp.find("[nets]")) +
      "[[expect]]\npart = \"lamp\"\ncurrent = { min = \"9 mA\" }\n" +
      "[tolerances]\nambient = { min = \"0 C\", max = \"40 C\" }\n");
  const ToleranceResult then = tolerance_of_text(better, 4'000);
  CHECK_THAT(result.helps.front().share, WithinAbs(then.yield.share, 1e-12));
}
