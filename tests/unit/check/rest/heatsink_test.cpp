#include "core/check/rest/limits.h"
#include "tests/unit/check/bench.h"

using benchproof::check_input;
using benchproof::heatsink_needed;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;

namespace {

/// 12 V, a 7805 and 10 ohm: half an ampere, and 3.6 W to get rid of.
std::string hot(const std::string& keys) {
  return filled(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", type = "7805"@ }
r = { kind = "resistor", value = "10R", power = "5 W" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)",
                keys);
}

}  // namespace

TEST_CASE("a junction that is too hot is told the heat sink it needs",
          "[check][heatsink]") {
  const auto bench = verified(hot(""));
  const auto& state = bench.verification.states[0];
  const auto* finding = find(state, "regulator-junction", "x");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::fault);
  // Tj = Ta + P (Rjc + Rca) solved for Rca; 150 C (onsemi MC7800) and 5 K/W (ST L7800
  // series Rev. 12), both verified. The output of 4.98 V is that of the load
  // regulation.
  REQUIRE(bench.circuit.nets[2].name == "out");
  const double out = state.nodal.net_volts[2];
  const double amps = out / 10.0;
  const double watts = (12.0 - out) * amps + 12.0 * 8e-3;
  const auto needed =
      heatsink_needed(check_input(bench.circuit, bench.circuit.states[0], state), 1,
                      state.nodal.part_watts[1]);
  REQUIRE(needed.has_value());
  // 1e-6 of 35 K/W and more: the smooth ramp of the quiescent current.
  CHECK_THAT(*needed, WithinAbs((150.0 - 25.0) / watts - 5.0, 1e-4));
  CHECK_THAT(finding->message,
             Catch::Contains("a heat sink of 29.8 K/W just holds that limit"));
}

TEST_CASE("a heat sink counts with the way to the case", "[check][heatsink]") {
  const auto cool = verified(hot(", heatsink = \"29.8 K/W\""));
  CHECK(find(cool.verification.states[0], "regulator-junction") == nullptr);
  const auto warm = verified(hot(", heatsink = \"29.9 K/W\""));
  const auto* finding = find(warm.verification.states[0], "regulator-junction");
  REQUIRE(finding != nullptr);
  CHECK_THAT(finding->source, Catch::Contains("junction to case 5 K/W") &&
                                  Catch::Contains("the heat sink's 29.9 K/W"));

  // The sink is what burns fingers: 25 C + 3.6 W * 12 K/W = 68 C, with 8 K/W 54 C.
  const auto touched = verified(hot(", heatsink = \"12 K/W\""));
  const auto* touch = find(touched.verification.states[0], "touch", "x");
  REQUIRE(touch != nullptr);
  CHECK_THAT(touch->message, Catch::Contains("on a heat sink"));
  const auto safe = verified(hot(", heatsink = \"8 K/W\""));
  CHECK(find(safe.verification.states[0], "touch", "x") == nullptr);
}

TEST_CASE("a heat sink that cannot be enough is not advised", "[check][heatsink]") {
  // 125 C over 3.6 W are 34.7 K/W; 34 K/W of them are used up inside.
  const auto bench = verified(hot(", thermal_resistance_case = \"34 K/W\""));
  const auto* finding = find(bench.verification.states[0], "regulator-junction");
  REQUIRE(finding != nullptr);
  CHECK_THAT(finding->message, Catch::Contains("no usual heat sink is enough"));
}

TEST_CASE("a heat sink on a case that nothing is known of is said to be left out",
          "[check][heatsink]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "8 V" }
x = { kind = "regulator", type = "78L05", heatsink = "20 K/W" }
r = { kind = "resistor", value = "1k" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)");
  const auto* finding = find(bench.verification.states[0], "unrated", "x");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::note);
  CHECK_THAT(finding->message, Catch::Contains("'thermal_resistance_case'"));
}
