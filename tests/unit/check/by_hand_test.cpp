#include "core/check/by_hand.h"

#include <string>

#include "tests/unit/check/bench.h"

using benchproof::HandResult;
using benchproof::bench::Bench;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

const HandResult* find_rule(const Bench& bench, std::string_view rule) {
  for (const HandResult& result : bench.verification.states[0].by_hand) {
    if (result.rule == rule) return &result;
  }
  return nullptr;
}

std::string led_on(const std::string& volts, const std::string& ohms,
                   const std::string& led, const std::string& more_parts = "",
                   const std::string& more_pins = "") {
  return "[parts]\nv = { kind = \"voltage-source\", voltage = \"" + volts +
         "\" }\nr = { kind = \"resistor\", value = \"" + ohms +
         "\", power = \"2 W\" }\nx = { kind = \"led\", " + led + " }\n" + more_parts +
         "[nets]\ntop = [\"v.plus\", \"r.a\"]\nmid = [\"r.b\", \"x.anode\"" +
         more_pins + "]\nground = [\"v.minus\", \"x.cathode\"" +
         (more_parts.empty() ? "" : ", \"y.b\"") + "]\n";
}

}  // namespace

TEST_CASE("worked examples of an LED on a resistor", "[check][by-hand]") {
  struct Example {
    const char* volts;
    const char* ohms;
    const char* drop;
    double published;
    double tolerance;
  };
  // Kuphaldt vol. III ch. 3, figure 03295 a and b: exact for the values given. Malvino
  // & Bates, Electronic Principles, examples 5-13 and 5-12: half a unit of the last
  // digit.
  for (const Example& e : {Example{"6 V", "220R", "1.6 V", 20e-3, 1e-9},
                           Example{"24 V", "1k12", "1.6 V", 20e-3, 1e-9},
                           Example{"9 V", "470R", "2 V", 14.89e-3, 5.005e-6},
                           Example{"50 V", "2k2", "2 V", 21.82e-3, 5.005e-6}}) {
    CAPTURE(e.volts, e.ohms);
    const auto bench =
        verified(led_on(e.volts, e.ohms, std::string("drop = \"") + e.drop + "\""));
    const HandResult* hand = find_rule(bench, "led-resistor");
    REQUIRE(hand != nullptr);
    CHECK(hand->part == "x");
    CHECK_THAT(hand->hand, WithinAbs(e.published, e.tolerance));
    // A constant drop holds within 10 uV: 4e-6 of the 4.4 V that are left, at most.
    CHECK_THAT(hand->solved, WithinRel(hand->hand, 5e-6));
    CHECK_FALSE(hand->source.empty());
    CHECK_THAT(hand->formula, Catch::Contains("(V - VF) / R"));
  }
}

TEST_CASE("the hand rule takes the published drop of a colour", "[check][by-hand]") {
  // Red, 5 mm: 2.0 V at 20 mA (Vishay 83012). (5 V - 2 V) / 150 ohm = 20 mA, where the
  // curve passes through that point.
  const auto bench = verified(led_on("5 V", "150R", "colour = \"red\""));
  const HandResult* hand = find_rule(bench, "led-resistor");
  REQUIRE(hand != nullptr);
  CHECK_THAT(hand->hand, WithinRel(20e-3, 1e-12));
  CHECK_THAT(hand->solved, WithinRel(20e-3, 1e-6));
}

TEST_CASE("the LED rule is silent where something else joins in", "[check][by-hand]") {
  const auto rule = [](const std::string& text) {
    return find_rule(verified(text), "led-resistor") != nullptr;
  };
  const std::string red = "colour = \"red\"";
  CHECK(rule(led_on("5 V", "330R", red)));
  // A third part at the net between.
  CHECK_FALSE(
      rule(led_on("5 V", "330R", red, "y = { kind = \"resistor\", value = \"10k\" }\n",
                  ", \"y.a\"")));
  // A capacitor there carries nothing at rest.
  CHECK(rule(led_on("5 V", "330R", red,
                    "y = { kind = \"capacitor\", value = \"1uF\", rated = \"16 V\" }\n",
                    ", \"y.a\"")));
  // Too little voltage: the rule would give a negative current.
  CHECK_FALSE(rule(led_on("1.5 V", "330R", red)));
  // A model has no published drop.
  CHECK_FALSE(rule(led_on("5 V", "330R", "model = { is = 1e-18, n = 2.0 }")));
  // A supply that gives way holds no net.
  CHECK_FALSE(rule(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = false, no_load = "7 V" }
r = { kind = "resistor", value = "330R" }
x = { kind = "led", colour = "red" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["v.minus", "x.cathode"]
)"));
  // Two LEDs in series.
  CHECK_FALSE(rule(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
r = { kind = "resistor", value = "330R" }
x = { kind = "led", colour = "red" }
y = { kind = "led", colour = "red" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "x.anode"]
low = ["x.cathode", "y.anode"]
ground = ["v.minus", "y.cathode"]
)"));
}

TEST_CASE("the LED rule adds the resistance of an output", "[check][by-hand]") {
  const auto driven = [](const char* level) {
    return verified(std::string(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", outputs = ["a"], resistance_high = "50 ohm", resistance_low = "30 ohm" }
r = { kind = "resistor", value = "100R" }
x = { kind = "led", drop = "2 V" }
rx = { kind = "resistor", value = "100R" }
y = { kind = "led", drop = "2 V" }
[nets]
vdd = ["v.plus", "chip.vdd", "y.anode"]
a = ["chip.a", "r.a"]
mid = ["r.b", "x.anode"]
low = ["y.cathode", "rx.a"]
ground = ["v.minus", "chip.vss", "x.cathode", "rx.b"]
[states.one]
"chip.a" = ")") + level +
                    "\"\n");
  };
  const auto bench = driven("high");
  const auto& rules = bench.verification.states[0].by_hand;
  REQUIRE(rules.size() == 2);
  // 3 V over 150 ohm. The output's leak of 1 uA to vss takes nothing from the LED but
  // 50 uV of its voltage: 2e-5.
  CHECK(rules[0].part == "x");
  CHECK_THAT(rules[0].hand, WithinRel(20e-3, 1e-12));
  CHECK_THAT(rules[0].solved, WithinRel(20e-3, 5e-5));
  CHECK_THAT(rules[0].formula, Catch::Contains("Rout"));
  // The resistor may stand at the cathode as well.
  CHECK(rules[1].part == "y");
  CHECK_THAT(rules[1].hand, WithinRel(30e-3, 1e-12));
  // Open or low: the LED is off and the rule says nothing.
  CHECK(driven("open").verification.states[0].by_hand.size() == 1);
  CHECK(driven("low").verification.states[0].by_hand.size() == 1);
}

TEST_CASE("a loaded divider by hand", "[check][by-hand]") {
  const auto divider = [](const std::string& parts, const std::string& pins,
                          const std::string& ground = "") {
    return verified(
        "[parts]\nv = { kind = \"voltage-source\", voltage = \"12 V\" }\n"
        "r1 = { kind = \"resistor\", value = \"1k\" }\n"
        "r2 = { kind = \"resistor\", value = \"2k\" }\n" +
        parts + "[nets]\ntop = [\"v.plus\", \"r1.a\"]\ntap = [\"r1.b\", \"r2.a\"" +
        pins + "]\nground = [\"v.minus\", \"r2.b\"" + ground + "]\n");
  };
  const auto plain = divider("", "");
  const HandResult* hand = find_rule(plain, "divider");
  REQUIRE(hand != nullptr);
  CHECK(hand->net == "tap");
  // Linear: to the nodal solver's own stopping bound of 1e-9.
  CHECK_THAT(hand->hand, WithinRel(8.0, 1e-12));
  CHECK_THAT(hand->solved, WithinRel(8.0, 1e-9));

  const auto loaded = divider("rl = { kind = \"resistor\", value = \"2k\" }\n",
                              ", \"rl.a\"", ", \"rl.b\"");
  const HandResult* load = find_rule(loaded, "loaded-divider");
  REQUIRE(load != nullptr);
  CHECK_THAT(load->hand, WithinRel(6.0, 1e-12));  // 2k || 2k = 1k
  CHECK_THAT(load->solved, WithinRel(6.0, 1e-9));

  // A diode for a load is no resistor; two more resistors are no divider with a load.
  CHECK(divider("d = { kind = \"diode\", type = \"1N4148\" }\n", ", \"d.anode\"",
                ", \"d.cathode\"")
            .verification.states[0]
            .by_hand.empty());
  CHECK(divider("ra = { kind = \"resistor\", value = \"2k\" }\n"
                "rb = { kind = \"resistor\", value = \"2k\" }\n",
                ", \"ra.a\", \"rb.a\"", ", \"ra.b\", \"rb.b\"")
            .verification.states[0]
            .by_hand.empty());
}

TEST_CASE("a chain of three resistors is no divider with one tap", "[check][by-hand]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "45 V" }
r1 = { kind = "resistor", value = "5k" }
r2 = { kind = "resistor", value = "10k" }
r3 = { kind = "resistor", value = "7k5" }
[nets]
n1 = ["v.plus", "r1.a"]
n2 = ["r1.b", "r2.a"]
n3 = ["r2.b", "r3.a"]
ground = ["v.minus", "r3.b"]
)");
  CHECK(bench.verification.states[0].by_hand.empty());
}

TEST_CASE("a regulator's heat by hand", "[check][by-hand]") {
  // Malvino & Bates, Electronic Principles, example 24-7: 15 V in, 9.2 V out, 40 ohm:
  // 230 mA and 1.334 W.
  const auto regulator = [](const char* volts, const char* more) {
    return verified(
        std::string("[parts]\nv = { kind = \"voltage-source\", voltage = \"") + volts +
        "\" }\nx = { kind = \"regulator\", output = \"9.2 V\", quiescent = \"0 "
        "A\"" +
        more +
        " }\nr = { kind = \"resistor\", value = \"40R\", power = \"5 W\" }\n"
        "[nets]\nin = [\"v.plus\", \"x.in\"]\nout = [\"x.out\", \"r.a\"]\n"
        "ground = [\"v.minus\", \"x.common\", \"r.b\"]\n");
  };
  const auto bench = regulator("15 V", ", thermal_resistance = \"50 K/W\"");
  const HandResult* heat = find_rule(bench, "regulator-heat");
  REQUIRE(heat != nullptr);
  CHECK_THAT(heat->hand, WithinRel(1.334, 1e-5));
  CHECK_THAT(heat->solved, WithinRel(1.334, 1e-5));
  const HandResult* hot = find_rule(bench, "regulator-temperature");
  REQUIRE(hot != nullptr);
  CHECK_THAT(hot->hand, WithinRel(25.0 + 50.0 * 1.334, 1e-5));

  CHECK(find_rule(regulator("15 V", ""), "regulator-temperature") == nullptr);
  // Out of regulation (9.2 V and 2 V of dropout): the rule does not hold.
  CHECK(find_rule(regulator("11 V", ""), "regulator-heat") == nullptr);
}
