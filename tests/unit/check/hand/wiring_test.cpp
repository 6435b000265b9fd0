#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Severity;
using benchproof::StateResult;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

// What is joined the wrong way round. Limits without a source named beside them: common
// practice, no source.

TEST_CASE("a chip whose supply is the wrong way round is a fault", "[check][wiring]") {
  const auto at = [](const char* volts) {
    return verified(filled(R"([parts]
v = { kind = "voltage-source", voltage = "@" }
chip = { kind = "controller", type = "PIC12C67x", outputs = ["a", "b", "c"] }
[nets]
low = ["v.minus", "chip.vdd"]
ground = ["v.plus", "chip.vss"]
open = ["chip.a", "chip.b", "chip.c"]
)",
                           volts));
  };
  CHECK(find(at("0.29 V").verification.states[0], "controller-reversed") == nullptr);
  CHECK(find(at("0.31 V").verification.states[0], "controller-reversed") != nullptr);
  const auto bench = at("5 V");
  const StateResult& state = bench.verification.states[0];
  const Finding* told = find(state, "controller-reversed", "chip");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(told->message, Catch::Contains("the wrong way round"));
  CHECK(told->follows.empty());
  // Microchip DS30561B page 89: 150 mA into VDD, 700 mW. Three pins with two diodes and
  // 20 ohm each pass 3 (5 V - 1.7 V) / 20 ohm and more.
  const Finding* total = find(state, "controller-total", "chip");
  REQUIRE(total != nullptr);
  CHECK(*total->value > 0.45);
  CHECK(total->follows == "controller-reversed");
  const Finding* power = find(state, "controller-power", "chip");
  REQUIRE(power != nullptr);
  CHECK_THAT(*power->value, WithinRel(5.0 * *total->value, 1e-6));
  CHECK(power->follows == "controller-reversed");
}

TEST_CASE("a chip without a supply that its pins half wake", "[check][wiring]") {
  const auto fed = [](const char* ohms) {
    return verified(filled(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
s = { kind = "switch" }
chip = { kind = "controller", type = "cmos-5v", inputs = ["key"] }
r = { kind = "resistor", value = "@" }
[nets]
raw = ["v.plus", "s.a", "r.a"]
vdd = ["s.b", "chip.vdd"]
key = ["r.b", "chip.key"]
ground = ["v.minus", "chip.vss"]
)",
                           ohms));
  };
  const auto bench = fed("470R");
  const StateResult& state = bench.verification.states[0];
  REQUIRE(state.findings.size() >= 2);
  CHECK(state.findings[0].check == "controller-clamp");
  CHECK(state.findings[0].severity == Severity::fault);
  CHECK_THAT(state.findings[0].message, Catch::Contains("'chip.key'"));
  const Finding* low = find(state, "controller-brownout", "chip");
  REQUIRE(low != nullptr);
  CHECK(low->follows == "controller-clamp");
  CHECK_THAT(low->message, !Catch::Contains("raise its supply"));
  // Below half a volt the chip counts as off: the clamp alone is told, and mildly.
  const auto asleep = fed("15k");
  CHECK(find(asleep.verification.states[0], "controller-brownout") == nullptr);
  REQUIRE(find(asleep.verification.states[0], "controller-clamp") != nullptr);
  CHECK(find(asleep.verification.states[0], "controller-clamp")->severity ==
        Severity::caution);
}

TEST_CASE("a regulator with in and out swapped is a fault", "[check][wiring]") {
  // ST L7800: 5 V within 4 %; 2 % more.
  const auto held = [](const char* volts) {
    return verified(filled(R"([parts]
v = { kind = "voltage-source", voltage = "@" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "1k" }
[nets]
out = ["x.out", "v.plus"]
in = ["x.in", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)",
                           volts));
  };
  CHECK(find(held("5.29 V").verification.states[0], "regulator-swapped") == nullptr);
  CHECK(find(held("5.31 V").verification.states[0], "regulator-swapped") != nullptr);
  const auto bench = held("12 V");
  const Finding* told = find(bench.verification.states[0], "regulator-swapped", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(told->message, Catch::Contains("in and out swapped"));
  CHECK(find(bench.verification.states[0], "regulator-back-feed") == nullptr);
}

TEST_CASE("a regulator without its common pin is a fault", "[check][wiring]") {
  const std::string text = R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "1k" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
)";
  const auto open = verified(text + R"(ground = ["v.minus", "r.b"]
open = ["x.common"]
)");
  const Finding* told = find(open.verification.states[0], "regulator-open", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(told->message, Catch::Contains("'x.common' is left open"));
  const auto sound = verified(text + "ground = [\"v.minus\", \"x.common\", \"r.b\"]\n");
  CHECK(find(sound.verification.states[0], "regulator-open") == nullptr);
}

TEST_CASE("a regulator's input is checked by the difference where that is published",
          "[check][wiring]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", type = "LM317" }
r = { kind = "resistor", value = "120R" }
s = { kind = "resistor", value = "360R", power = "0.5 W" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
adj = ["x.adjust", "r.b", "s.a"]
ground = ["v.minus", "s.b"]
)");
  CHECK(find(bench.verification.states[0], "unrated", "x") == nullptr);
  const auto own = verified(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", output = "5 V" }
r = { kind = "resistor", value = "1k" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)");
  const Finding* note = find(own.verification.states[0], "unrated", "x");
  REQUIRE(note != nullptr);
  CHECK_THAT(note->message, Catch::Contains("input voltage"));
}

TEST_CASE("a zener that conducts forward is told", "[check][wiring]") {
  const auto forward = [](const char* amps) {
    return verified(filled(R"([parts]
i = { kind = "current-source", current = "@" }
x = { kind = "zener", voltage = "5.1 V", power = "0.5 W" }
[nets]
hot = ["i.plus", "x.anode"]
ground = ["i.minus", "x.cathode"]
)",
                           amps));
  };
  CHECK(find(forward("0.99 mA").verification.states[0], "zener-forward") == nullptr);
  const auto bench = forward("1.01 mA");
  const Finding* told = find(bench.verification.states[0], "zener-forward", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(told->message, Catch::Contains("works as an ordinary diode"));
  CHECK(find(forward("-10 mA").verification.states[0], "zener-forward") == nullptr);

  // Two of them back to back: one conducts forward on purpose.
  const auto pair = verified(R"([parts]
i = { kind = "current-source", current = "10 mA" }
x = { kind = "zener", voltage = "5.1 V", power = "0.5 W" }
y = { kind = "zener", voltage = "5.1 V", power = "0.5 W" }
[nets]
hot = ["i.plus", "x.anode"]
mid = ["x.cathode", "y.cathode"]
ground = ["i.minus", "y.anode"]
)");
  CHECK(find(pair.verification.states[0], "zener-forward") == nullptr);
}

TEST_CASE("a reversed LED is called that first", "[check][wiring]") {
  const auto at = [](const char* volts) {
    return verified(filled(R"([parts]
v = { kind = "dc-supply", voltage = "@", current = "1 A" }
r = { kind = "resistor", value = "1k" }
x = { kind = "led", colour = "red" }
[nets]
hot = ["v.plus", "r.a"]
mid = ["r.b", "x.cathode"]
ground = ["v.minus", "x.anode"]
)",
                           volts));
  };
  // Kuphaldt vol. III ch. 3: 5 V in reverse.
  const auto far = at("12 V");
  const StateResult& state = far.verification.states[0];
  CHECK(state.findings[0].check == "led-reverse");
  CHECK_THAT(state.findings[0].message,
             Catch::StartsWith("'x' looks the wrong way round"));
  const Finding* dark = find(state, "led-dark", "x");
  REQUIRE(dark != nullptr);
  CHECK(dark->follows == "led-reverse");
  const auto near = at("4.9 V");
  CHECK(find(near.verification.states[0], "led-reverse") == nullptr);
  REQUIRE(find(near.verification.states[0], "led-dark") != nullptr);
  CHECK_THAT(find(near.verification.states[0], "led-dark")->message,
             Catch::StartsWith("'x' looks the wrong way round"));
}

TEST_CASE("collector and emitter swapped are told, and a negative base is not that",
          "[check][wiring]") {
  const auto across = [](const char* volts, const char* hot, const char* cold) {
    return verified(std::string("[parts]\nv = { kind = \"dc-supply\", voltage = \"") +
                    volts + R"(", current = "1 A" }
lamp = { kind = "lamp", voltage = "12 V", current = "50 mA" }
r = { kind = "resistor", value = "10k" }
x = { kind = "transistor", type = "2N3904" }
[nets]
hot = ["v.plus", "lamp.a"]
mid = ["lamp.b", "x.)" +
                    hot + "\"]\nbase = [\"x.base\", \"r.a\"]\n" +
                    R"(ground = ["v.minus", "r.b", "x.)" + cold + "\"]\n");
  };
  // 2N3904: 6 V in reverse at the base, from memory.
  const auto far = across("12 V", "emitter", "collector");
  const Finding* told = find(far.verification.states[0], "transistor-swapped", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(told->message, Catch::Contains("collector and emitter swapped"));
  CHECK(find(far.verification.states[0], "transistor-base") == nullptr);
  const auto near = across("5 V", "emitter", "collector");
  REQUIRE(find(near.verification.states[0], "transistor-swapped") != nullptr);
  CHECK(find(near.verification.states[0], "transistor-swapped")->severity ==
        Severity::caution);
  CHECK(find(across("0.99 V", "emitter", "collector").verification.states[0],
             "transistor-swapped") == nullptr);
  CHECK(find(across("1.01 V", "emitter", "collector").verification.states[0],
             "transistor-swapped") != nullptr);
  CHECK(find(across("12 V", "collector", "emitter").verification.states[0],
             "transistor-swapped") == nullptr);

  const auto negative = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
w = { kind = "voltage-source", voltage = "-7 V" }
lamp = { kind = "lamp", voltage = "12 V", current = "50 mA" }
x = { kind = "transistor", type = "2N3904" }
[nets]
hot = ["v.plus", "lamp.a"]
mid = ["lamp.b", "x.collector"]
base = ["x.base", "w.plus"]
ground = ["v.minus", "w.minus", "x.emitter"]
)");
  const Finding* base = find(negative.verification.states[0], "transistor-base", "x");
  REQUIRE(base != nullptr);
  CHECK_THAT(base->message, Catch::Contains("clamp it with a diode"));
}

TEST_CASE("a short is one fault, and what comes of it follows", "[check][wiring]") {
  const auto closed = [](const char* ohms) {
    return verified(filled(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
s = { kind = "switch", rated = "1 A", resistance = "@" }
r = { kind = "resistor", value = "1k" }
[nets]
hot = ["v.plus", "s.a", "r.a"]
ground = ["v.minus", "s.b", "r.b"]
[states.on]
s = "closed"
[[expect]]
part = "v"
current = { max = "1 A" }
[[expect]]
net = "hot"
voltage = { max = "12.5 V" }
)",
                           ohms));
  };
  const auto bench = closed("20 uohm");
  const StateResult& state = bench.verification.states[0];
  REQUIRE(state.findings.size() == 2);
  const Finding& told = state.findings[0];
  CHECK(told.check == "current-unlimited");
  CHECK(told.severity == Severity::fault);
  CHECK(told.part == "s");
  CHECK_FALSE(told.value.has_value());
  CHECK_THAT(told.message, Catch::Contains("nothing limits the current through 's'"));
  CHECK(state.findings[1].check == "expectation");
  CHECK(state.findings[1].follows == "current-unlimited");
  // 1 kA: 12 V over 12 mohm.
  CHECK(find(closed("11.9 mohm").verification.states[0], "current-unlimited") !=
        nullptr);
  const auto below = closed("12.1 mohm");
  CHECK(find(below.verification.states[0], "current-unlimited") == nullptr);
  CHECK(find(below.verification.states[0], "switch-current", "s") != nullptr);
}

TEST_CASE("a capacitor that PWM moves is noted once", "[check][wiring][pwm]") {
  const auto on = [](const char* ohms) {
    return verified(filled(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
r = { kind = "resistor", value = "10k" }
s = { kind = "resistor", value = "@" }
c = { kind = "capacitor", value = "1uF", rated = "16 V" }
hold = { kind = "capacitor", value = "10uF", rated = "16 V" }
[nets]
vdd = ["v.plus", "chip.vdd", "hold.a"]
a = ["chip.a", "r.a"]
m = ["r.b", "s.a", "c.a"]
ground = ["v.minus", "chip.vss", "s.b", "c.b", "hold.b"]
[states.half]
"chip.a" = { pwm = "50%", frequency = "1 kHz" }
[states.most]
"chip.a" = { pwm = "90%", frequency = "1 kHz" }
[states.steady]
"chip.a" = "high"
)",
                           ohms));
  };
  // 5 V * R / (10 kohm + 233 ohm + R) are 9.8 mV at 20 ohm, 10.7 mV at 22 ohm.
  CHECK(find(on("20R").verification.states[0], "capacitor-smooths") == nullptr);
  const auto bench = on("22R");
  const Finding* note = find(bench.verification.states[0], "capacitor-smooths", "c");
  REQUIRE(note != nullptr);
  CHECK(note->severity == Severity::note);
  CHECK_THAT(note->message, Catch::Contains("solved as 2 states at rest"));
  CHECK(find(bench.verification.states[0], "capacitor-smooths", "hold") == nullptr);
  CHECK(find(bench.verification.states[1], "capacitor-smooths") == nullptr);
  CHECK(find(bench.verification.states[2], "capacitor-smooths") == nullptr);
}

// Kuphaldt vol. III ch. 3: 20 mA is the typical operating current, sheets allow 25 mA.
TEST_CASE("past a typical current an LED is at first in for a caution",
          "[check][wiring]") {
  const auto through = [](const std::string& led, const char* amps) {
    return verified(
        std::string("[parts]\ni = { kind = \"current-source\", current = \"") + amps +
        "\" }\nx = { kind = \"led\", " + led +
        " }\n[nets]\nhot = [\"i.plus\", \"x.anode\"]\n"
        "ground = [\"i.minus\", \"x.cathode\"]\n");
  };
  const auto severity = [&](const std::string& led, const char* amps) {
    const auto bench = through(led, amps);
    const Finding* told = find(bench.verification.states[0], "led-current", "x");
    return told == nullptr ? Severity::note : told->severity;
  };
  for (const std::string led : {"colour = \"red\"", "colour = \"white\""}) {
    CAPTURE(led);
    CHECK(severity(led, "20 mA") == Severity::note);
    CHECK(severity(led, "20.1 mA") == Severity::caution);
    CHECK(severity(led, "24.9 mA") == Severity::caution);
    CHECK(severity(led, "25.1 mA") == Severity::fault);
  }
  // A rating of its own is one.
  const std::string own = R"(drop = "2 V", current = "20 mA")";
  CHECK(severity(own, "20 mA") == Severity::note);
  CHECK(severity(own, "20.1 mA") == Severity::fault);
}
