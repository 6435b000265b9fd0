#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Severity;
using benchproof::StateResult;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

// All limits here: common practice, no source.

namespace {

/// A lamp of 12 V and 1.2 A (10 ohm) over an N-channel transistor of 2 V threshold
/// whose gate stands at @.
const char* const kLowSide = R"(ambient = "27 C"
[parts]
v = { kind = "dc-supply", voltage = "12 V", current = "3 A" }
g = { kind = "voltage-source", voltage = "@" }
lamp = { kind = "lamp", voltage = "12 V", current = "1.2 A" }
x = { kind = "mosfet", channel = "n", model = { vto = 2, kp = 1 } }
[nets]
hot = ["v.plus", "lamp.a"]
gate = ["g.plus", "x.gate"]
drain = ["lamp.b", "x.drain"]
ground = ["v.minus", "g.minus", "x.source"]
)";

/// A lamp in the collector; what stands in the emitter's way is @.
const char* const kSink = R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
b = { kind = "voltage-source", voltage = "2.7 V" }
rb = { kind = "resistor", value = "10k" }
lamp = { kind = "lamp", voltage = "12 V", current = "100 mA" }
x = { kind = "transistor", type = "2N2222A" }
@[nets]
hot = ["v.plus", "lamp.a"]
drive = ["b.plus", "rb.a"]
base = ["rb.b", "x.base"]
collector = ["lamp.b", "x.collector"]
)";

}  // namespace

// Square law of Shichman and Hodges: in saturation the drain current is kp/2 (vgs -
// vto)^2. With vgs = 3.4 V it is 0.98 A, and 12 V - 10 ohm * 0.98 A = 2.2 V are kept,
// more than a tenth of 12 V. With 3.6 V the channel is in its linear region, kp ((vgs -
// vto) v - v^2/2) = (12 V - v) / 10 ohm: 0.94 V are kept.
TEST_CASE("a MOS transistor that is not fully on is told", "[check][switching]") {
  const auto at = [](const char* gate) { return verified(filled(kLowSide, gate)); };
  const auto half = at("3.4 V");
  const Finding* told = find(half.verification.states[0], "mosfet-half-on", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::caution);
  CHECK_THAT(*told->value, WithinRel(12.0 - 9.8, 1e-3));
  CHECK_THAT(*told->limit, WithinRel(1.2, 1e-3));
  CHECK_THAT(told->message, Catch::Contains("is not fully on: 2.2 V stay across it"));
  CHECK_THAT(told->source, Catch::Contains("common practice"));
  CHECK(find(at("3.6 V").verification.states[0], "mosfet-half-on") == nullptr);
  // Driven, but below its threshold: the lamp stays dark, and the reason is told.
  const auto dark = at("1.9 V");
  told = find(dark.verification.states[0], "mosfet-half-on");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  // kp/2 (3.1 V - 2 V)^2 = 0.605 A: 5.95 V are kept, 3.05 V and 6.5 V make the half.
  CHECK(find(at("3.1 V").verification.states[0], "mosfet-half-on")->severity ==
        Severity::caution);
  const auto most = at("3.05 V");
  told = find(most.verification.states[0], "mosfet-half-on");
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(*told->limit, WithinRel(6.0, 1e-3));
  // Not driven.
  CHECK(find(at("1 mV").verification.states[0], "mosfet-half-on") == nullptr);
}

TEST_CASE("an output's level says what a gate is meant to be", "[check][switching]") {
  // A P-channel transistor at 5 V: an output of a chip at 3.3 V cannot turn it off.
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
w = { kind = "dc-supply", voltage = "3.3 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-3v3", outputs = ["a"] }
r = { kind = "resistor", value = "1k" }
lamp = { kind = "lamp", voltage = "5 V", current = "500 mA" }
x = { kind = "mosfet", channel = "p", model = { vto = -1, kp = 1 } }
[nets]
hot = ["v.plus", "x.source"]
vdd = ["w.plus", "chip.vdd"]
out = ["chip.a", "r.a"]
gate = ["r.b", "x.gate"]
drain = ["lamp.a", "x.drain"]
ground = ["v.minus", "w.minus", "chip.vss", "lamp.b"]
[states.off]
"chip.a" = "high"
[states.on]
)");
  // kp/2 (1.7 V - 1 V)^2 = 245 mA flow on: half of the rated current.
  const Finding* told = find(bench.verification.states[0], "mosfet-half-on", "x");
  REQUIRE(told != nullptr);
  CHECK_THAT(told->message, Catch::Contains("is not fully off"));
  CHECK(find(bench.verification.states[1], "mosfet-half-on") == nullptr);
}

TEST_CASE("a bipolar switch short of base current is told however it is driven",
          "[check][switching]") {
  const auto grounded = [](const char* base) {
    std::string text =
        filled(kSink, "") + "ground = [\"v.minus\", \"b.minus\", \"x.emitter\"]\n";
    text.replace(text.find("10k"), 3, base);
    return verified(text);
  };
  // NXP PMBT2222A: gain of 50; about 2 V over 10 kohm give 10 mA to a lamp of 100 mA.
  const auto weak = grounded("10k");
  const Finding* told = find(weak.verification.states[0], "transistor-half-on", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK_THAT(*told->value, WithinRel(10.8, 0.03));
  CHECK_THAT(told->message,
             Catch::Contains("is not fully on") && Catch::Contains("'lamp'"));
  CHECK(find(grounded("680R").verification.states[0], "transistor-half-on") == nullptr);
}

TEST_CASE("followers, current sinks and mirrors are not switches",
          "[check][switching]") {
  // 2 V over 100 ohm in the emitter: a sink of 20 mA for a lamp of 100 mA.
  const auto sink =
      verified(filled(kSink, "re = { kind = \"resistor\", value = \"100R\" }\n") +
               "emitter = [\"x.emitter\", \"re.a\"]\n"
               "ground = [\"v.minus\", \"b.minus\", \"re.b\"]\n");
  CHECK(find(sink.verification.states[0], "transistor-half-on") == nullptr);

  const auto follower = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
b = { kind = "voltage-source", voltage = "7 V" }
lamp = { kind = "lamp", voltage = "6 V", current = "50 mA" }
x = { kind = "transistor", type = "2N2222A" }
[nets]
hot = ["v.plus", "x.collector"]
base = ["b.plus", "x.base"]
emitter = ["x.emitter", "lamp.a"]
ground = ["v.minus", "b.minus", "lamp.b"]
)");
  CHECK(find(follower.verification.states[0], "transistor-half-on") == nullptr);

  const auto mirror = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r = { kind = "resistor", value = "1k" }
led = { kind = "led", colour = "red" }
y = { kind = "transistor", type = "2N2222A" }
x = { kind = "transistor", type = "2N2222A" }
[nets]
hot = ["v.plus", "r.a", "led.anode"]
base = ["r.b", "y.base", "y.collector", "x.base"]
collector = ["led.cathode", "x.collector"]
ground = ["v.minus", "x.emitter", "y.emitter"]
)");
  CHECK(find(mirror.verification.states[0], "transistor-half-on") == nullptr);
}

// A transistor of 2 V keeps all of 5 V where its gate gets 1.65 V, and a resistor is a
// load of what an output switches.
TEST_CASE("a gate that its output does not bring past the threshold is told",
          "[check][switching]") {
  const auto at = [](const char* foot, const char* transistor) {
    return verified(std::string(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
w = { kind = "dc-supply", voltage = "3.3 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-3v3", outputs = ["a"] }
r = { kind = "resistor", value = "100k" }
foot = { kind = "resistor", value = ")") +
                    foot + R"(" }
load = { kind = "resistor", value = "100R", power = "1 W" }
x = { kind = "mosfet", )" +
                    transistor + R"( }
[nets]
hot = ["v.plus", "load.a"]
vdd = ["w.plus", "chip.vdd"]
out = ["chip.a", "r.a"]
gate = ["r.b", "x.gate", "foot.a"]
drain = ["load.b", "x.drain"]
ground = ["v.minus", "w.minus", "chip.vss", "foot.b", "x.source"]
[states.on]
"chip.a" = "high"
[states.off]
)");
  };
  const char* const two_volts = R"(channel = "n", model = { vto = 2, kp = 1 })";
  const auto half = at("100k", two_volts);
  const Finding* told = find(half.verification.states[0], "mosfet-never-on", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  CHECK(told->bound == benchproof::Bound::lower);
  CHECK_THAT(*told->value, WithinRel(1.65, 1e-2));
  CHECK(*told->limit == 2.0);
  CHECK_THAT(told->message, Catch::Contains("'chip.a' brings its gate to 1.65 V"));
  CHECK(find(half.verification.states[1], "mosfet-never-on") == nullptr);
  CHECK(find(at("1M", two_volts).verification.states[0], "mosfet-never-on") == nullptr);
  // A type's highest published threshold: 4 V.
  const auto type = at("10M", "type = \"IRF520\"");
  told = find(type.verification.states[0], "mosfet-never-on", "x");
  REQUIRE(told != nullptr);
  CHECK(*told->limit == 4.0);
  // One that is on without any voltage.
  CHECK(find(at("100k", R"(channel = "n", model = { vto = -2, kp = 1 })")
                 .verification.states[0],
             "mosfet-never-on") == nullptr);
}

TEST_CASE("a body diode that carries the load's current is told",
          "[check][switching]") {
  const auto at = [](const char* source, const char* drain) {
    return verified(std::string(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
r = { kind = "resistor", value = "10k" }
lamp = { kind = "lamp", voltage = "12 V", current = "50 mA" }
x = { kind = "mosfet", channel = "p", model = { vto = -2, kp = 1 }, body = true }
[nets]
hot = ["v.plus", "r.a", "x.)") +
                    source +
                    "\"]\ngate = [\"r.b\", \"x.gate\"]\nout = [\"lamp.a\", \"x." +
                    drain + "\"]\nground = [\"v.minus\", \"lamp.b\"]\n");
  };
  const auto turned = at("drain", "source");
  const Finding* told = find(turned.verification.states[0], "mosfet-body", "x");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::fault);
  // 12 V less a silicon drop over the lamp's 240 ohm.
  CHECK_THAT(*told->value, WithinRel(11.3 / 240.0, 0.02));
  CHECK(find(at("source", "drain").verification.states[0], "mosfet-body") == nullptr);

  // Against a reversed supply the body diode starts what the channel then carries.
  const auto guard = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
lamp = { kind = "lamp", voltage = "12 V", current = "50 mA" }
x = { kind = "mosfet", channel = "p", model = { vto = -2, kp = 1 }, body = true }
[nets]
hot = ["v.plus", "x.drain"]
out = ["lamp.a", "x.source"]
ground = ["v.minus", "lamp.b", "x.gate"]
)");
  CHECK(find(guard.verification.states[0], "mosfet-body") == nullptr);
  CHECK(find(guard.verification.states[0], "mosfet-half-on") == nullptr);
}

// Off, the second transistor's base hangs on what leaks through the first.
TEST_CASE("a pair of transistors that is off is off", "[check][switching]") {
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "2 A" }
w = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
r = { kind = "resistor", value = "4k7" }
lamp = { kind = "lamp", voltage = "12 V", current = "300 mA" }
x = { kind = "transistor", type = "BC547" }
y = { kind = "transistor", type = "2N2222A" }
[nets]
hot = ["v.plus", "lamp.a"]
drive = ["w.plus", "r.a"]
base = ["r.b", "x.base"]
second = ["x.emitter", "y.base"]
out = ["lamp.b", "x.collector", "y.collector"]
ground = ["v.minus", "w.minus", "y.emitter"]
[states.off]
"w.voltage" = "1 mV"
[states.on]
)");
  for (const auto& state : bench.verification.states)
    CHECK(find(state, "transistor-half-on") == nullptr);
}
