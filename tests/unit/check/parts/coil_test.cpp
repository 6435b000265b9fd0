#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Severity;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;

// Common practice, no source, throughout: what a coil's current does is the law of
// induction, which parts take it over is custom.

namespace {

/// A relay under a transistor on 12 V. @ is one more part `d` and where its pins stand.
std::string low_side(const std::string& part, const std::string& at_hot,
                     const std::string& at_coil, const std::string& at_ground) {
  return R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
b = { kind = "voltage-source", voltage = "5 V" }
rb = { kind = "resistor", value = "1k" }
relay = { kind = "relay-coil", voltage = "12 V", current = "40 mA" }
x = { kind = "transistor", type = "2N2222A" }
)" + part +
         R"([nets]
hot = ["v.plus", "relay.a")" +
         at_hot + "]\ndrive = [\"b.plus\", \"rb.a\"]\nbase = [\"rb.b\", \"x.base\"]\n" +
         R"(coil = ["relay.b", "x.collector")" + at_coil +
         "]\nground = [\"v.minus\", \"b.minus\", \"x.emitter\"" + at_ground + "]\n";
}

const Finding* flyback(const Bench& bench) {
  return find(bench.verification.states[0], "coil-flyback");
}

const std::string kDiode = "d = { kind = \"diode\", type = \"1N4001\" }\n";

}  // namespace

TEST_CASE("a coil under a transistor wants a diode, the right way round",
          "[check][coil]") {
  const auto bare = verified(low_side("", "", "", ""));
  REQUIRE(flyback(bare) != nullptr);
  CHECK(flyback(bare)->severity == Severity::fault);
  CHECK(flyback(bare)->part == "relay");
  CHECK_THAT(flyback(bare)->message,
             Catch::Contains("'x'") && Catch::Contains("cathode at 'hot'"));

  CHECK(flyback(verified(low_side(kDiode, R"(, "d.cathode")", R"(, "d.anode")", ""))) ==
        nullptr);
  // From the switched net to ground the current has nowhere to go until the diode
  // breaks through; a zener is made for that.
  CHECK(flyback(verified(low_side(kDiode, "", R"(, "d.cathode")", R"(, "d.anode")"))) !=
        nullptr);
  CHECK(flyback(verified(
            low_side("d = { kind = \"zener\", voltage = \"24 V\", power = \"1 W\" }\n",
                     "", R"(, "d.cathode")", R"(, "d.anode")"))) == nullptr);
  // A resistor that only pulls up is no way out.
  CHECK(flyback(verified(low_side("d = { kind = \"resistor\", value = \"10k\" }\n",
                                  R"(, "d.a")", R"(, "d.b")", ""))) != nullptr);
}

TEST_CASE("a diode to another rail serves as well", "[check][coil]") {
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
w = { kind = "dc-supply", voltage = "15 V", current = "1 A" }
g = { kind = "voltage-source", voltage = "10 V" }
motor = { kind = "motor", voltage = "12 V", current = "100 mA" }
x = { kind = "mosfet", channel = "n", model = { vto = 2, kp = 10 }, body = true }
d = { kind = "diode", type = "1N4001" }
[nets]
hot = ["v.plus", "motor.a"]
high = ["w.plus", "d.cathode"]
gate = ["g.plus", "x.gate"]
coil = ["motor.b", "x.drain", "d.anode"]
ground = ["v.minus", "w.minus", "g.minus", "x.source"]
)");
  CHECK(flyback(bench) == nullptr);
}

TEST_CASE("on the high side the diode goes to ground", "[check][coil]") {
  const auto high = [](const char* diode, const char* coil, const char* ground) {
    return verified(std::string(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
motor = { kind = "motor", voltage = "12 V", current = "100 mA" }
x = { kind = "mosfet", channel = "p", model = { vto = -2, kp = 10 }, body = true }
)") + diode +
                    "[nets]\nhot = [\"v.plus\", \"x.source\"]\ncoil = [\"motor.a\", "
                    "\"x.drain\"" +
                    coil + "]\nground = [\"v.minus\", \"motor.b\", \"x.gate\"" +
                    ground + "]\n");
  };
  CHECK(flyback(high("", "", "")) != nullptr);
  CHECK(flyback(high(kDiode.c_str(), R"(, "d.cathode")", R"(, "d.anode")")) == nullptr);
}

TEST_CASE("the body diodes of a bridge take over", "[check][coil]") {
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
motor = { kind = "motor", voltage = "12 V", current = "100 mA" }
pl = { kind = "mosfet", channel = "p", model = { vto = -2, kp = 10 }, body = true }
pr = { kind = "mosfet", channel = "p", model = { vto = -2, kp = 10 }, body = true }
nl = { kind = "mosfet", channel = "n", model = { vto = 2, kp = 10 }, body = true }
nr = { kind = "mosfet", channel = "n", model = { vto = 2, kp = 10 }, body = true }
[nets]
hot = ["v.plus", "pl.source", "pr.source", "pr.gate", "nr.gate"]
left = ["motor.a", "pl.drain", "nl.drain"]
right = ["motor.b", "pr.drain", "nr.drain"]
ground = ["v.minus", "nl.source", "nr.source", "pl.gate", "nl.gate"]
)");
  CHECK(flyback(bench) == nullptr);
}

TEST_CASE("what switches a coil sets how much a missing diode matters",
          "[check][coil]") {
  const std::string text = R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
s = { kind = "switch" }
relay = { kind = "relay-coil", voltage = "5 V", current = "20 mA" }
@[nets]
hot = ["v.plus", "s.a"]
)";
  const auto by_hand =
      verified(filled(text, "") +
               "coil = [\"s.b\", \"relay.a\"]\nground = [\"v.minus\", \"relay.b\"]\n"
               "[states.on]\ns = \"closed\"\n");
  REQUIRE(flyback(by_hand) != nullptr);
  CHECK(flyback(by_hand)->severity == Severity::caution);
  const auto buffered = verified(
      filled(text,
             "c = { kind = \"capacitor\", value = \"100uF\", rated = \"16 V\" }\n") +
      "coil = [\"s.b\", \"relay.a\", \"c.a\"]\n"
      "ground = [\"v.minus\", \"relay.b\", \"c.b\"]\n[states.on]\ns = \"closed\"\n");
  CHECK(flyback(buffered) == nullptr);

  const std::string pin = R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", outputs = ["a"], resistance_high = "20 ohm" }
relay = { kind = "relay-coil", voltage = "5 V", current = "10 mA" }
@[nets]
vdd = ["v.plus", "chip.vdd"]
)";
  const auto direct = verified(filled(pin, "") +
                               "coil = [\"chip.a\", \"relay.a\"]\n"
                               "ground = [\"v.minus\", \"chip.vss\", \"relay.b\"]\n"
                               "[states.on]\n\"chip.a\" = \"high\"\n");
  REQUIRE(flyback(direct) != nullptr);
  CHECK(flyback(direct)->severity == Severity::fault);
  const auto guarded =
      verified(filled(pin, kDiode) +
               "coil = [\"chip.a\", \"relay.a\", \"d.cathode\"]\n"
               "ground = [\"v.minus\", \"chip.vss\", \"relay.b\", \"d.anode\"]\n"
               "[states.on]\n\"chip.a\" = \"high\"\n");
  CHECK(flyback(guarded) == nullptr);
}

TEST_CASE("a coil that nothing switches, or that is off, needs no diode",
          "[check][coil]") {
  const auto always = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
motor = { kind = "motor", voltage = "12 V", current = "100 mA" }
[nets]
hot = ["v.plus", "motor.a"]
ground = ["v.minus", "motor.b"]
)");
  CHECK(flyback(always) == nullptr);
  std::string off = low_side("", "", "", "");
  off.replace(off.find("\"5 V\""), 5, "\"1 mV\"");
  CHECK(flyback(verified(off)) == nullptr);
}

TEST_CASE("a relay below three quarters of its voltage may not pull in",
          "[check][coil]") {
  const auto at = [](const char* volts) {
    return verified(filled(R"([parts]
v = { kind = "dc-supply", voltage = "@", current = "1 A" }
relay = { kind = "relay-coil", voltage = "12 V", current = "40 mA" }
[nets]
hot = ["v.plus", "relay.a"]
ground = ["v.minus", "relay.b"]
)",
                           volts));
  };
  const auto weak = at("8.99 V");
  const Finding* told = find(weak.verification.states[0], "relay-pull-in", "relay");
  REQUIRE(told != nullptr);
  CHECK(told->severity == Severity::caution);
  CHECK_THAT(told->message, Catch::Contains("may not pull in"));
  const auto good = at("9.01 V");
  CHECK(find(good.verification.states[0], "relay-pull-in") == nullptr);
  CHECK(find(good.verification.states[0], "load-weak") == nullptr);
  CHECK(find(at("6.01 V").verification.states[0], "relay-pull-in") != nullptr);
  const auto idle = at("5.99 V");
  CHECK(find(idle.verification.states[0], "relay-pull-in") == nullptr);
  CHECK(find(idle.verification.states[0], "load-idle") != nullptr);
}
