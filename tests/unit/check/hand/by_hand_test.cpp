#include "core/check/hand/by_hand.h"

#include <string>
#include <variant>

#include "core/catalogue/fit/fit.h"
#include "tests/unit/check/hand/hand_bench.h"

using benchproof::HandResult;
using benchproof::bench::Bench;
using benchproof::bench::find_rule;
using benchproof::bench::fires;
using benchproof::bench::verified;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

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
    CHECK_THAT(*hand->nodal, WithinRel(hand->hand, 5e-6));
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
  CHECK_THAT(*hand->nodal, WithinRel(20e-3, 1e-6));

  // At a tenth of it the LED takes less, and so more flows: at
  // most by what its curve has between the two currents, over the 3 V that are left.
  const auto faint = verified(led_on("5 V", "1k5", "colour = \"red\""));
  hand = find_rule(faint, "led-resistor");
  REQUIRE(hand != nullptr);
  const auto& model =
      std::get<benchproof::DiodeModel>(faint.circuit.parts[2].type->model);
  const double less = benchproof::voltage_at(model, 20e-3, 25.0) -
                      benchproof::voltage_at(model, 2e-3, 25.0);
  REQUIRE(less > 0.0);
  CHECK_THAT(hand->hand, WithinRel(2e-3, 1e-12));
  CHECK(*hand->nodal > hand->hand);
  CHECK(*hand->nodal < hand->hand * (1.0 + less / 3.0));
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
  // A resistor or another LED across it: then there are two ways.
  for (const char* other :
       {R"(kind = "resistor", value = "1k")", R"(kind = "led", colour = "red")"}) {
    CAPTURE(other);
    const bool is_led = std::string(other).find("led") != std::string::npos;
    const std::string pins = is_led ? "y.anode" : "y.a";
    const std::string low = is_led ? "y.cathode" : "y.b";
    CHECK_FALSE(
        rule("[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
             "r = { kind = \"resistor\", value = \"330R\" }\n"
             "x = { kind = \"led\", colour = \"red\" }\ny = { " +
             std::string(other) +
             " }\n[nets]\ntop = [\"v.plus\", \"r.a\"]\n"
             "mid = [\"r.b\", \"x.anode\", \"" +
             pins + "\"]\nground = [\"v.minus\", \"x.cathode\", \"" + low + "\"]\n"));
  }
  // The wrong way round; so little voltage that a constant drop decides everything; no
  // resistor but that of a lamp.
  CHECK_FALSE(rule(led_on("-5 V", "330R", red)));
  CHECK_FALSE(rule(led_on("2.1 V", "330R", red)));
  CHECK(rule(led_on("2.3 V", "330R", red)));
  CHECK_FALSE(rule(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
r = { kind = "lamp", voltage = "6 V", current = "50 mA" }
x = { kind = "led", colour = "red" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["v.minus", "x.cathode"]
)"));
  // A slope beside the drop is not in the formula.
  CHECK_FALSE(rule(led_on("5 V", "330R", R"(drop = "2 V", slope = "5 ohm")")));
}

TEST_CASE("the LED rule takes a weak supply's voltage as it is", "[check][by-hand]") {
  // 7 V without load, 5 V at 100 mA: 20 ohm inside. (7 V - 2 V) / (80 + 20) ohm = 50 mA
  // leave 6 V, and 4 V over 80 ohm are again 50 mA. To 1e-4 for the drop's 10 uV.
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "100 mA", regulated = false, no_load = "7 V" }
r = { kind = "resistor", value = "80R", power = "2 W" }
x = { kind = "led", drop = "2 V" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["v.minus", "x.cathode"]
)");
  const HandResult* hand = find_rule(bench, "led-resistor");
  REQUIRE(hand != nullptr);
  CHECK_THAT(hand->hand, WithinRel(50e-3, 1e-4));
  CHECK_THAT(*hand->nodal, WithinRel(50e-3, 1e-4));
  CHECK_THAT(hand->numbers, Catch::StartsWith("(6 V - 2 V) / 80 ohm"));
}

TEST_CASE("a string of LEDs by hand", "[check][by-hand]") {
  const auto string = [](const char* second, const char* way, const char* door) {
    const bool is_forward = std::string(way) == "forward";
    return std::string(R"([parts]
v = { kind = "voltage-source", voltage = "9 V" }
f = { kind = "fuse", rated = "100 mA", resistance = "1 ohm" }
s = { kind = "switch", resistance = "1 ohm" }
r = { kind = "resistor", value = "248R" }
x = { kind = "led", drop = "2 V" }
y = { kind = "led", drop = ")") +
           second + R"(" }
[nets]
top = ["v.plus", "f.a"]
n1 = ["f.b", "s.a"]
n2 = ["s.b", "x.anode"]
n3 = ["x.cathode", ")" +
           (is_forward ? "y.anode" : "y.cathode") + R"("]
n4 = [")" + (is_forward ? "y.cathode" : "y.anode") +
           R"(", "r.a"]
ground = ["v.minus", "r.b"]
[states.one]
s = ")" + door +
           "\"\n";
  };
  // (9 V - 2 x 2 V) / 250 ohm.
  const auto same = verified(string("2 V", "forward", "closed"));
  const HandResult* hand = find_rule(same, "led-resistor");
  REQUIRE(hand != nullptr);
  CHECK_THAT(hand->hand, WithinRel(20e-3, 1e-12));
  // Two constant drops, 10 uV each, of the 5 V that are left.
  CHECK_THAT(*hand->nodal, WithinRel(20e-3, 4e-6));
  CHECK_THAT(hand->formula, Catch::Contains("sum VF"));
  CHECK_THAT(hand->numbers, Catch::Contains("2 x 2 V"));
  CHECK(same.verification.states[0].by_hand.size() == 1);  // Once for the string.
  const auto other = verified(string("3 V", "forward", "closed"));
  REQUIRE(find_rule(other, "led-resistor") != nullptr);
  CHECK_THAT(find_rule(other, "led-resistor")->hand, WithinRel(16e-3, 1e-12));
  // One of them the wrong way round; the switch open.
  CHECK_FALSE(fires("led-resistor", string("2 V", "reverse", "closed")));
  CHECK_FALSE(fires("led-resistor", string("2 V", "forward", "open")));
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
  CHECK_THAT(*rules[0].nodal, WithinRel(20e-3, 5e-5));
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
  CHECK_THAT(*hand->nodal, WithinRel(8.0, 1e-9));

  const auto loaded = divider("rl = { kind = \"resistor\", value = \"2k\" }\n",
                              ", \"rl.a\"", ", \"rl.b\"");
  const HandResult* load = find_rule(loaded, "loaded-divider");
  REQUIRE(load != nullptr);
  CHECK_THAT(load->hand, WithinRel(6.0, 1e-12));  // 2k || 2k = 1k
  CHECK_THAT(*load->nodal, WithinRel(6.0, 1e-9));

  // A diode for a load is no resistor; two more resistors are no divider with a load.
  CHECK(divider("d = { kind = \"diode\", type = \"1N4148\" }\n", ", \"d.anode\"",
                ", \"d.cathode\"")
            .verification.states[0]
            .by_hand.empty());
  // Nor is a lamp, a current source, a transistor's base; but a gate only listens.
  CHECK(divider("d = { kind = \"lamp\", voltage = \"6 V\", current = \"1 mA\" }\n",
                ", \"d.a\"", ", \"d.b\"")
            .verification.states[0]
            .by_hand.empty());
  CHECK(divider("d = { kind = \"current-source\", current = \"1 mA\" }\n",
                ", \"d.plus\"", ", \"d.minus\"")
            .verification.states[0]
            .by_hand.empty());
  CHECK(divider("d = { kind = \"transistor\", type = \"2N3904\" }\n", ", \"d.base\"",
                ", \"d.emitter\", \"d.collector\"")
            .verification.states[0]
            .by_hand.empty());
  const auto gate = divider("d = { kind = \"mosfet\", type = \"2N7000\" }\n",
                            ", \"d.gate\"", R"(, "d.source", "d.drain")");
  REQUIRE(find_rule(gate, "divider") != nullptr);
  // 200 Mohm of leak against 667 ohm: 3.3e-6.
  CHECK_THAT(*find_rule(gate, "divider")->nodal, WithinRel(8.0, 3.4e-6));
  CHECK(divider("ra = { kind = \"resistor\", value = \"2k\" }\n"
                "rb = { kind = \"resistor\", value = \"2k\" }\n",
                ", \"ra.a\", \"rb.a\"", ", \"ra.b\", \"rb.b\"")
            .verification.states[0]
            .by_hand.empty());
}

TEST_CASE("a divider that does not end at ground is told by the voltage over R2",
          "[check][by-hand]") {
  // 12 V to -5 V over two of 10 kohm: 8.5 V over each, and the tap at 3.5 V.
  const auto split = [](const std::string& part, const std::string& pin) {
    return verified(
        "[parts]\nv = { kind = \"voltage-source\", voltage = \"12 V\" }\n"
        "w = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
        "r1 = { kind = \"resistor\", value = \"10k\" }\n"
        "r2 = { kind = \"resistor\", value = \"10k\" }\n" +
        part + "[nets]\ntop = [\"v.plus\", \"r1.a\"]\ntap = [\"r1.b\", \"r2.a\"" +
        (pin.empty() ? "" : ", \"" + pin + ".a\"") + "]\nlow = [\"w.minus\", \"r2.b\"" +
        (pin.empty() ? "" : ", \"" + pin + ".b\"") +
        "]\nground = [\"v.minus\", \"w.plus\"]\n");
  };
  const auto plain = split("", "");
  const HandResult* hand = find_rule(plain, "divider");
  REQUIRE(hand != nullptr);
  CHECK(hand->net.empty());
  CHECK(hand->part == "r2");
  CHECK(hand->title == "voltage over R2, net 'tap' above net 'low'");
  CHECK_THAT(hand->hand, WithinRel(8.5, 1e-12));
  CHECK_THAT(*hand->nodal, WithinRel(8.5, 1e-9));

  const auto loaded = split("rl = { kind = \"resistor\", value = \"10k\" }\n", "rl");
  const HandResult* load = find_rule(loaded, "loaded-divider");
  REQUIRE(load != nullptr);
  CHECK(load->title == "voltage over R, net 'tap' above net 'low'");
  CHECK_THAT(*load->nodal, WithinRel(17.0 / 3.0, 1e-9));  // 5k of 15k
}

TEST_CASE("what is below a millionth of a sum is not told", "[check][by-hand]") {
  const auto numbers = [](const std::string& resistance) {
    const auto bench = verified(
        "[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
        "s = { kind = \"switch\", resistance = \"" +
        resistance +
        "\" }\nr = { kind = \"resistor\", value = \"150R\", power = \"1 W\" }\n"
        "x = { kind = \"led\", colour = \"red\" }\n"
        "[nets]\ntop = [\"v.plus\", \"s.a\"]\nlive = [\"s.b\", \"r.a\"]\n"
        "mid = [\"r.b\", \"x.anode\"]\nground = [\"v.minus\", \"x.cathode\"]\n"
        "[states.on]\ns = \"closed\"\n");
    const HandResult* hand = find_rule(bench, "led-resistor");
    REQUIRE(hand != nullptr);
    return hand->formula + "; " + hand->numbers;
  };
  CHECK_THAT(numbers("20 uohm"), Catch::Contains("/ R; ") &&
                                     Catch::Contains("/ 150 ohm =") &&
                                     !Catch::Contains("uohm"));
  // A worn contact is told.
  CHECK_THAT(numbers("2 ohm"),
             Catch::Contains("/ sum R; ") && Catch::Contains("(2 ohm + 150 ohm)"));
  // On both sides of the millionth: 150 uohm.
  CHECK_THAT(numbers("152 uohm"), Catch::Contains("(152 uohm + 150 ohm)"));
  CHECK_THAT(numbers("149 uohm"), !Catch::Contains("uohm"));
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
  CHECK(find_rule(bench, "divider") == nullptr);
  CHECK(find_rule(bench, "loaded-divider") == nullptr);
  // Kuphaldt vol. I ch. 6: 2 mA.
  const HandResult* hand = find_rule(bench, "series-resistors");
  REQUIRE(hand != nullptr);
  CHECK_THAT(hand->hand, WithinRel(2e-3, 1e-12));
  CHECK_THAT(*hand->nodal, WithinRel(2e-3, 1e-9));
}

TEST_CASE("a trimmer is a divider", "[check][by-hand]") {
  const auto tapped = [](const char* turn, const char* load) {
    return std::string(R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
t = { kind = "trimmer", value = "10k", turn = )") +
           turn + " }\n" + load + R"(
[nets]
top = ["v.plus", "t.a"]
tap = ["t.wiper", "x.a"]
ground = ["v.minus", "t.b", "x.b"]
)";
  };
  const char* resistor = R"(x = { kind = "resistor", value = "7k5" })";
  const auto bench = verified(tapped("0.25", resistor));
  const HandResult* hand = find_rule(bench, "loaded-divider");
  REQUIRE(hand != nullptr);
  // 7.5k || 7.5k = 3.75k below 2.5k of track: 10 V 3.75 / 6.25.
  CHECK_THAT(hand->hand, WithinRel(6.0, 1e-12));
  CHECK_THAT(*hand->nodal, WithinRel(6.0, 1e-9));
  // At its end a wiper keeps some ohms, which the formula does not know.
  CHECK_FALSE(fires("loaded-divider", tapped("0.0", resistor)));
}

TEST_CASE("resistors in parallel by hand", "[check][by-hand]") {
  const auto two = [](const char* low) {
    return std::string(R"([parts]
v = { kind = "voltage-source", voltage = "9 V" }
w = { kind = "voltage-source", voltage = "3 V" }
r1 = { kind = "resistor", value = "1k" }
r2 = { kind = "resistor", value = "2k" }
[nets]
top = ["v.plus", "r1.a", "r2.a"]
ground = ["v.minus", "w.minus", "r1.b")") +
           (std::string(low) == "ground"
                ? ", \"r2.b\"]\nlow = [\"w.plus\", \"r3.a\"]"
                : "]\nlow = [\"w.plus\", \"r2.b\", \"r3.a\"]") +
           "\nfar = [\"r3.b\", \"c.a\"]\nopen = [\"c.b\"]\n";
  };
  const auto with_rest = [](std::string text) {
    text.insert(text.find("[nets]"),
                "r3 = { kind = \"resistor\", value = \"1k\" }\n"
                "c = { kind = \"resistor\", value = \"1k\" }\n");
    return text;
  };
  const auto bench = verified(with_rest(two("ground")));
  const HandResult* hand = find_rule(bench, "parallel-resistors");
  REQUIRE(hand != nullptr);
  CHECK_THAT(hand->hand, WithinRel(9e-3 + 4.5e-3, 1e-12));
  CHECK_THAT(*hand->nodal, WithinRel(13.5e-3, 1e-9));
  // Both on the same supply, but not on the same other net.
  CHECK_FALSE(fires("parallel-resistors", with_rest(two("low"))));
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
  CHECK_THAT(*heat->nodal, WithinRel(1.334, 1e-5));
  const HandResult* hot = find_rule(bench, "regulator-temperature");
  REQUIRE(hot != nullptr);
  CHECK_THAT(hot->hand, WithinRel(25.0 + 50.0 * 1.334, 1e-5));

  CHECK(find_rule(regulator("15 V", ""), "regulator-temperature") == nullptr);
  // Out of regulation (9.2 V and 2 V of dropout): the rule does not hold.
  CHECK(find_rule(regulator("11 V", ""), "regulator-heat") == nullptr);
  // Beyond its limit; with in and out exchanged; held up from elsewhere.
  CHECK(find_rule(regulator("15 V", ", limit = \"200 mA\""), "regulator-heat") ==
        nullptr);
  const auto joined = [](const char* in, const char* out, const char* more) {
    return std::string(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
w = { kind = "voltage-source", voltage = "6 V" }
x = { kind = "regulator", output = "5 V" }
r = { kind = "resistor", value = "100R", power = "2 W" }
s = { kind = "resistor", value = "100R", power = "2 W" }
[nets]
in = ["v.plus", ")") +
           in + "\"]\nout = [\"" + out +
           "\", \"r.a\", \"s.a\"]\nother = [\"w.plus\", \"" + more +
           "\"]\nground = [\"v.minus\", \"w.minus\", \"x.common\", \"r.b\"]\n";
  };
  // 6 V through 100 ohm into 100 ohm is less than 5 V: it regulates.
  CHECK(fires("regulator-output", joined("x.in", "x.out", "s.b")));
  CHECK_FALSE(fires("regulator-output", joined("x.out", "x.in", "s.b")));
  std::string fed = joined("x.in", "x.out", "s.b");
  fed.replace(fed.find("6 V"), 3, "30 V");  // 15 V without it.
  CHECK_FALSE(fires("regulator-output", fed));
  CHECK_FALSE(fires("regulator-heat", fed));
}

TEST_CASE("an adjustable regulator by hand", "[check][by-hand]") {
  const auto set = [](const char* volts, const char* pins, const char* more = "") {
    return std::string("[parts]\nv = { kind = \"voltage-source\", voltage = \"") +
           volts + R"(" }
x = { kind = "regulator", type = "LM317" }
r1 = { kind = "resistor", value = "240R" }
r2 = { kind = "resistor", value = "720R" }
load = { kind = "resistor", value = "50R", power = "2 W" }
)" + more + R"([nets]
in = ["v.plus", "x.in"]
)" + pins;
  };
  const char* right = R"(out = ["x.out", "r1.a", "load.a"]
set = ["x.adjust", "r1.b", "r2.a"]
ground = ["v.minus", "r2.b", "load.b"]
)";
  const auto bench = verified(set("12 V", right));
  const HandResult* output = find_rule(bench, "regulator-output");
  REQUIRE(output != nullptr);
  // 1.25 V (1 + 720 / 240) + 50 uA 720 ohm.
  CHECK_THAT(output->hand, WithinRel(5.036, 1e-9));
  // Neglected: 0.0042 ohm and 0.0005 per volt, the type's figures, times 1 + R2 / R1:
  // 4 (4.2 mohm 106 mA) = 2 mV, and 4 (0.0005 (V to adjust - 5 V)) = 6 mV at most.
  CHECK_THAT(*output->nodal, WithinAbs(5.036, 8e-3));
  CHECK_THAT(output->source, Catch::Contains("LM317"));
  const HandResult* heat = find_rule(bench, "regulator-heat");
  REQUIRE(heat != nullptr);
  // The same millivolts across it, of 7 V.
  CHECK_THAT(heat->hand, WithinRel(*heat->nodal, 2e-3));

  const auto fires_on = [&](const char* volts, const char* pins,
                            const char* more = "") {
    return fires("regulator-output", set(volts, pins, more));
  };
  CHECK(fires_on("12 V", right));
  CHECK_FALSE(fires_on("6 V", right));  // 2 V of dropout.
  // R1 and R2 exchanged are still two resistors, for another voltage; both at one end
  // are none.
  CHECK(fires_on("12 V", R"(out = ["x.out", "r2.a", "load.a"]
set = ["x.adjust", "r1.b", "r2.b"]
ground = ["v.minus", "r1.a", "load.b"]
)"));
  CHECK_FALSE(fires_on("12 V", R"(out = ["x.out", "load.a"]
set = ["x.adjust", "r1.b", "r2.a"]
ground = ["v.minus", "r1.a", "r2.b", "load.b"]
)"));
  // Something else at the adjust pin: a third resistor, a diode.
  CHECK_FALSE(fires_on("12 V", R"(out = ["x.out", "r1.a", "load.a"]
set = ["x.adjust", "r1.b", "r2.a", "y.a"]
ground = ["v.minus", "r2.b", "load.b", "y.b"]
)",
                       "y = { kind = \"resistor\", value = \"1k\" }\n"));
  CHECK_FALSE(fires_on("12 V", R"(out = ["x.out", "r1.a", "load.a", "y.cathode"]
set = ["x.adjust", "r1.b", "r2.a", "y.anode"]
ground = ["v.minus", "r2.b", "load.b"]
)",
                       "y = { kind = \"diode\", type = \"1N4148\" }\n"));
}

TEST_CASE("a regulator on a heat sink by hand", "[check][by-hand]") {
  // (12 V - 5 V) 0.5 A = 3.5 W, no own current; 25 C + 3.5 W (5 + 10) K/W = 77.5 C.
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", output = "5 V", quiescent = "0 A", thermal_resistance_case = "5 K/W", heatsink = "10 K/W" }
r = { kind = "resistor", value = "10R", power = "5 W" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)");
  const HandResult* hot = find_rule(bench, "regulator-temperature");
  REQUIRE(hot != nullptr);
  CHECK_THAT(hot->hand, WithinRel(77.5, 1e-6));
  CHECK_THAT(*hot->nodal, WithinRel(77.5, 1e-6));
  CHECK_THAT(hot->numbers, Catch::Contains("(5 K/W + 10 K/W)"));
}

TEST_CASE("a negative regulator by hand", "[check][by-hand]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", output = "5 V", polarity = "negative", quiescent = "4 mA" }
r = { kind = "resistor", value = "50R", power = "2 W" }
[nets]
in = ["v.minus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.plus", "x.common", "r.b"]
)");
  const HandResult* output = find_rule(bench, "regulator-output");
  REQUIRE(output != nullptr);
  CHECK_THAT(output->hand, WithinRel(-5.0, 1e-12));
  // The model bends within 1 mV of its corners: 0.1 uV this far from them.
  CHECK_THAT(*output->nodal, WithinRel(-5.0, 1e-6));
  const HandResult* heat = find_rule(bench, "regulator-heat");
  REQUIRE(heat != nullptr);
  CHECK_THAT(heat->hand, WithinRel(7.0 * 0.1 + 12.0 * 4e-3, 1e-6));
  CHECK_THAT(*heat->nodal, WithinRel(heat->hand, 1e-6));
}
