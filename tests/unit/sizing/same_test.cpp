#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "tests/unit/sizing/sized.h"

// One value for several parts, against closed forms.

namespace benchproof {
namespace {

using Catch::Matchers::WithinRel;

/// Two resistors in series feed a third, and a capacitor beside it.
const std::string kLadder = R"([parts]
s = { kind = "dc-supply", voltage = "12 V" }
a = { kind = "resistor", value = "10k", tolerance = "1%" }
b = { kind = "resistor", value = "22k", tolerance = "2%" }
c = { kind = "resistor", value = "10k", tolerance = "1%" }
d = { kind = "capacitor", value = "100nF" }
[nets]
in = ["s.plus", "a.a"]
mid = ["a.b", "b.a"]
tap = ["b.b", "c.a", "d.a"]
ground = ["s.minus", "c.b", "d.b"]
[[runs]]
name = "up"
state = "steady"
rise = "1 us"
span = "20 ms"
)";

SizeRequest same_request(const Circuit& circuit, const std::string& goal,
                         const std::vector<std::string>& parts, int state = 0) {
  SizeRequest request;
  request.is_same = true;
  for (const std::string& part : parts)
    request.keys.push_back(test::key_of(circuit, part));
  request.goal = test::goal_of(circuit, goal, state < 0 ? "up" : "");
  request.state = state;
  request.series = Series::e24;
  return request;
}

}  // namespace

TEST_CASE("two resistors of one value give what their closed form says",
          "[sizing][same]") {
  const test::Description d(kLadder);
  const SizeRequest request = same_request(d.circuit, "tap voltage = 4 V", {"a", "b"});
  const Sizing sizing = test::sized(d.circuit, request);
  // 12 V * 10k / (2 r + 10k) = 4 V.
  REQUIRE(sizing.exact);
  CHECK_THAT(*sizing.exact, WithinRel(10e3, 1e-6));
  REQUIRE(sizing.recommended >= 0);
  const SizeChoice& best = sizing.candidates[sizing.recommended];
  CHECK(best.values == std::vector<double>{10e3, 10e3});
  CHECK_THAT(best.nodal, WithinRel(4.0, 1e-9));
  // Each moves over its own tolerance: 1 % of the one, 2 % of the other.
  CHECK_THAT(best.most, WithinRel(120e3 / (9.9e3 + 9.8e3 + 10e3), 1e-9));
  CHECK_THAT(best.least, WithinRel(120e3 / (10.1e3 + 10.2e3 + 10e3), 1e-9));
}

TEST_CASE("parts that balance each other cannot be seen to move together",
          "[sizing][same]") {
  // Both halves of a divider: the ratio stays, and over their tolerances does not.
  const test::Description d(R"([parts]
s = { kind = "dc-supply", voltage = "12 V" }
a = { kind = "resistor", value = "10k", tolerance = "1%" }
b = { kind = "resistor", value = "10k", tolerance = "1%" }
[nets]
in = ["s.plus", "a.a"]
tap = ["a.b", "b.a"]
ground = ["s.minus", "b.b"]
)");
  const Sizing sizing =
      test::sized(d.circuit, same_request(d.circuit, "tap voltage <= 7 V", {"a", "b"}));
  CHECK_FALSE(sizing.exact);
  REQUIRE(sizing.recommended >= 0);
  const SizeChoice& best = sizing.candidates[sizing.recommended];
  CHECK(best.values == std::vector<double>{10e3, 10e3});
  CHECK_THAT(best.most, WithinRel(12.0 * 10.1 / (9.9 + 10.1), 1e-9));
}

TEST_CASE("one value for two resistors is found in a run", "[sizing][same][run]") {
  const test::Description d(kLadder);
  SizeRequest request =
      same_request(d.circuit, "tap reaches 2 V = 1 ms", {"a", "b"}, -1);
  for (SizedKey& key : request.keys) {
    key.least = 1e3;
    key.most = 1e5;
  }
  const Sizing sizing = test::sized(d.circuit, request);
  REQUIRE(sizing.exact);
  // Behind 2 r beside 10k the capacitor goes to v with R C: solved for the time here.
  const double r = 2.0 * *sizing.exact;
  const double volts = 12.0 * 10e3 / (r + 10e3);
  const double seconds = -std::log(1.0 - 2.0 / volts) * 100e-9 * r * 10e3 / (r + 10e3);
  CHECK_THAT(seconds, WithinRel(1e-3, 1e-3));
}

}  // namespace benchproof
