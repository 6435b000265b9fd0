#include <fmt/format.h>

#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

// All limits here: common practice, no source.

TEST_CASE("outputs of different level that nothing keeps apart fight",
          "[check][output]") {
  const auto between = [](const char* ohms, const char* level) {
    return verified(std::string(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a", "b"] }
r = { kind = "resistor", value = ")") +
                    ohms + R"(", power = "1 W" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
b = ["chip.b", "r.b"]
ground = ["v.minus", "chip.vss"]
[states.on]
"chip.a" = "high"
"chip.b" = ")" + level +
                    "\"\n");
  };
  const auto fight = between("99 ohm", "low");
  const Finding* told = find(fight.verification.states[0], "controller-fight", "chip");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(*told->value, WithinRel(99.0, 1e-9));
  CHECK_THAT(told->message,
             Catch::Contains("'chip.a' (high)") && Catch::Contains("'chip.b' (low)"));
  CHECK(find(between("100 ohm", "low").verification.states[0], "controller-fight") ==
        nullptr);
  CHECK(find(between("1 ohm", "high").verification.states[0], "controller-fight") ==
        nullptr);
  CHECK(find(between("1 ohm", "open").verification.states[0], "controller-fight") ==
        nullptr);
}

TEST_CASE("outputs on one net fight, those that meet at a rail do not",
          "[check][output]") {
  const auto same = verified(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a", "b"] }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "chip.b"]
ground = ["v.minus", "chip.vss"]
[states.on]
"chip.a" = "high"
[states.off]
)");
  REQUIRE(find(same.verification.states[0], "controller-fight") != nullptr);
  CHECK(find(same.verification.states[1], "controller-fight") == nullptr);

  const auto apart = verified(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a", "b"] }
r = { kind = "resistor", value = "47R" }
s = { kind = "resistor", value = "47R" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
b = ["chip.b", "s.a"]
ground = ["v.minus", "chip.vss", "r.b", "s.b"]
[states.on]
"chip.a" = "high"
)");
  CHECK(find(apart.verification.states[0], "controller-fight") == nullptr);
}

// A controller of no type has 233.3 ohm above its output. Where the description itself
// tells the resistance, that is the LED's resistor.
TEST_CASE("an LED on a pin without a resistor is told unless the pin's own is given",
          "[check][output]") {
  const std::string text = R"([parts]
v = { kind = "dc-supply", voltage = "@", current = "1 A" }
chip = { kind = "controller", outputs = ["a"] }
x = { kind = "led", drop = "2 V" }
)";
  const std::string rest = R"([nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "x.anode"]
ground = ["v.minus", "chip.vss", "x.cathode"]
[states.on]
"chip.a" = "high"
[states.off]
)";
  const auto bare = [&](const char* volts) {
    return verified(filled(text, volts) + rest);
  };
  std::string given = filled(text, "5 V") + rest;
  given.replace(given.find("[\"a\"] }"), 7, R"(["a"], resistance_high = "330R" })");
  CHECK(find(verified(given).verification.states[0], "led-bare") == nullptr);
  const auto strong = bare("5 V");
  const Finding* told = find(strong.verification.states[0], "led-bare", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(*told->value, WithinRel(3.0, 1e-4));
  CHECK_THAT(told->message, Catch::Contains("without a resistor in series"));
  CHECK(find(strong.verification.states[1], "led-bare") == nullptr);
  // What is left for the pin: 1 V.
  const auto just = bare("3.01 V");
  REQUIRE(find(just.verification.states[0], "led-bare") != nullptr);
  CHECK(find(just.verification.states[0], "led-bare")->severity == Severity::fault);
  const auto below = bare("2.99 V");
  REQUIRE(find(below.verification.states[0], "led-bare") != nullptr);
  CHECK(find(below.verification.states[0], "led-bare")->severity == Severity::caution);

  const auto sound = verified(filled(text, "5 V") +
                              R"(r = { kind = "resistor", value = "150R" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "x.anode"]
k = ["x.cathode", "r.a"]
ground = ["v.minus", "chip.vss", "r.b"]
[states.on]
"chip.a" = "high"
)");
  CHECK(find(sound.verification.states[0], "led-bare") == nullptr);
}

TEST_CASE("a base on a pin wants a resistor, unless its emitter follows",
          "[check][output]") {
  const auto told = [](const std::string& ohms, bool is_follower) {
    const auto bench = verified(
        R"([parts]
s = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["q"] }
r = { kind = "resistor", value = ")" +
        ohms + R"(" }
t = { kind = "transistor", type = "BC547" }
l = { kind = "resistor", value = "1k" }
[nets]
q = ["chip.q", "r.a"]
b = ["r.b", "t.base"]
)" +
        (is_follower ? R"(p = ["s.plus", "chip.vdd", "t.collector"]
e = ["t.emitter", "l.a"]
ground = ["s.minus", "chip.vss", "l.b"]
)"
                     : R"(p = ["s.plus", "chip.vdd", "l.a"]
k = ["t.collector", "l.b"]
ground = ["s.minus", "chip.vss", "t.emitter"]
)") + R"([states.on]
"chip.q" = "high"
[states.off]
)");
    CHECK(find(bench.verification.states[1], "base-bare") == nullptr);
    const Finding* found = find(bench.verification.states[0], "base-bare", "t");
    if (found != nullptr) CHECK(found->severity == Severity::fault);
    return found != nullptr;
  };
  CHECK(told("99R", false));
  CHECK_FALSE(told("100R", false));
  CHECK_FALSE(told("99R", true));
}

TEST_CASE("a load that only the pin's weakness keeps small is told",
          "[check][output]") {
  // 5 V over R and the 25 ohm of a strong pin against 20 mA: 225 ohm.
  const auto told = [](const std::string& ohms) {
    const auto bench = verified(
        R"([parts]
s = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["q"] }
r = { kind = "resistor", value = ")" +
        ohms + R"(" }
[nets]
p = ["s.plus", "chip.vdd"]
q = ["chip.q", "r.a"]
ground = ["s.minus", "chip.vss", "r.b"]
[states.on]
"chip.q" = "high"
)");
    return find(bench.verification.states[0], "pin-strength", "chip") != nullptr;
  };
  CHECK(told("224R"));
  CHECK_FALSE(told("226R"));
}

TEST_CASE("what the output's own resistance takes counts as an LED's room",
          "[check][output]") {
  const auto lit = [](const char* supply) {
    return verified(fmt::format(R"([parts]
v = {{ kind = "dc-supply", voltage = "{}", current = "1 A" }}
x = {{ kind = "controller", type = "cmos-5v", outputs = ["out"] }}
r = {{ kind = "resistor", value = "10R", power = "0.25 W" }}
d = {{ kind = "led", drop = "2 V", current = "20 mA" }}
[nets]
top = ["v.plus", "x.vdd"]
out = ["x.out", "r.a"]
mid = ["r.b", "d.anode"]
ground = ["v.minus", "x.vss", "d.cathode"]
[states.on]
x.out = "high"
)",
                                supply));
  };
  // 233 ohm of the pin beside 10 ohm: 2 V of the 4 V, all but a few hundredths of it at
  // the pin; of 2.2 V only 0.2 V are left, less than a tenth.
  CHECK(find(lit("4 V").verification.states[0], "led-headroom", "d") == nullptr);
  const Finding* dim = find(lit("2.2 V").verification.states[0], "led-headroom", "d");
  REQUIRE(dim != nullptr);
  CHECK_THAT(*dim->value, WithinAbs(0.2, 1e-3));
}
