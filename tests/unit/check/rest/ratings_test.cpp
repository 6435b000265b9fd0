#include <cmath>

#include "core/check/table/checks.h"
#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Mark;
using benchproof::Severity;
using benchproof::StateResult;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

/// A circuit with one value left open, and two values of it: with the first the check
/// has nothing of this severity to say, with the second it has.
struct Edge {
  const char* check;
  Severity severity;
  const char* text;
  const char* below;
  const char* above;
};

/// A voltage source of @ across one part.
std::string across(const std::string& part, const char* plus, const char* minus) {
  return "[parts]\nv = { kind = \"voltage-source\", voltage = \"@\" }\nx = { " + part +
         " }\n[nets]\nhot = [\"v.plus\", \"x." + plus +
         "\"]\nground = [\"v.minus\", \"x." + minus + "\"]\n";
}

/// A current source of @ through one part.
std::string through(const std::string& part, const char* plus, const char* minus) {
  return "[parts]\ni = { kind = \"current-source\", current = \"@\" }\nx = { " + part +
         " }\n[nets]\nhot = [\"i.plus\", \"x." + plus +
         "\"]\nground = [\"i.minus\", \"x." + minus + "\"]\n";
}

/// A regulator fed with one voltage, loaded with one current.
std::string regulated(const char* type, const char* volts, const char* amps) {
  return std::string("[parts]\nv = { kind = \"voltage-source\", voltage = \"") + volts +
         "\" }\nx = { kind = \"regulator\", type = \"" + type +
         "\" }\ni = { kind = \"current-source\", current = \"" + amps +
         "\" }\n[nets]\nin = [\"v.plus\", \"x.in\"]\nout = [\"x.out\", \"i.minus\"]\n"
         "ground = [\"v.minus\", \"x.common\", \"i.plus\"]\n";
}

/// A transistor: base, collector and emitter each at a source or on ground.
const char* const kTransistorPower = R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
i = { kind = "current-source", current = "@" }
x = { kind = "transistor", type = "2N3904" }
[nets]
c = ["v.plus", "x.collector"]
b = ["i.plus", "x.base"]
ground = ["v.minus", "i.minus", "x.emitter"]
)";

const char* const kTransistorCurrent = R"([parts]
v = { kind = "voltage-source", voltage = "3 V" }
i = { kind = "current-source", current = "@" }
x = { kind = "transistor", type = "2N3904" }
[nets]
c = ["v.plus", "x.collector"]
b = ["i.plus", "x.base"]
ground = ["v.minus", "i.minus", "x.emitter"]
)";

const char* const kTransistorVoltage = R"([parts]
v = { kind = "voltage-source", voltage = "@" }
r = { kind = "resistor", value = "10k" }
x = { kind = "transistor", type = "2N3904" }
[nets]
c = ["v.plus", "x.collector"]
b = ["r.a", "x.base"]
ground = ["v.minus", "r.b", "x.emitter"]
)";

const char* const kTransistorBase = R"([parts]
v = { kind = "voltage-source", voltage = "@" }
r = { kind = "resistor", value = "10k" }
x = { kind = "transistor", type = "2N3904" }
[nets]
c = ["r.a", "x.collector"]
e = ["v.plus", "x.emitter", "r.b"]
ground = ["v.minus", "x.base"]
)";

const char* const kMosCurrent = R"([parts]
v = { kind = "voltage-source", voltage = "10 V" }
i = { kind = "current-source", current = "@" }
x = { kind = "mosfet", type = "2N7000" }
[nets]
g = ["v.plus", "x.gate"]
d = ["i.plus", "x.drain"]
ground = ["v.minus", "i.minus", "x.source"]
)";

const char* const kMosGate = R"([parts]
v = { kind = "voltage-source", voltage = "@" }
r = { kind = "resistor", value = "10k" }
x = { kind = "mosfet", type = "2N7000" }
[nets]
g = ["v.plus", "x.gate"]
d = ["r.a", "x.drain"]
ground = ["v.minus", "r.b", "x.source"]
)";

const char* const kMosVoltage = R"([parts]
v = { kind = "voltage-source", voltage = "@" }
r = { kind = "resistor", value = "10k" }
x = { kind = "mosfet", type = "2N7000" }
[nets]
g = ["r.a", "x.gate"]
d = ["v.plus", "x.drain"]
ground = ["v.minus", "r.b", "x.source"]
)";

/// A chip whose output "a" gives a current.
const char* const kPin = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
x = { kind = "controller", type = "STM8S003", outputs = ["a"] }
i = { kind = "current-source", current = "@" }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "i.minus"]
ground = ["v.minus", "x.vss", "i.plus"]
[states.on]
"x.a" = "high"
)";

const char* const kTotal = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
x = { kind = "controller", type = "STM8S003", outputs = ["a", "b", "c", "d", "e"] }
i = { kind = "current-source", current = "@" }
j = { kind = "current-source", current = "@" }
k = { kind = "current-source", current = "@" }
l = { kind = "current-source", current = "@" }
m = { kind = "current-source", current = "@" }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "i.minus"]
b = ["x.b", "j.minus"]
c = ["x.c", "k.minus"]
d = ["x.d", "l.minus"]
e = ["x.e", "m.minus"]
ground = ["v.minus", "x.vss", "i.plus", "j.plus", "k.plus", "l.plus", "m.plus"]
[states.on]
x = { a = "high", b = "high", c = "high", d = "high", e = "high" }
)";

const char* const kClamp = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
x = { kind = "controller", type = "STM8S003", inputs = ["a"] }
i = { kind = "current-source", current = "@" }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "i.plus"]
ground = ["v.minus", "x.vss", "i.minus"]
)";

const char* const kLevel = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
w = { kind = "voltage-source", voltage = "@" }
x = { kind = "controller", type = "cmos-5v", inputs = ["a"] }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "w.plus"]
ground = ["v.minus", "x.vss", "w.minus"]
)";

std::string chip_supply() {
  return across(R"(kind = "controller", type = "cmos-5v", outputs = ["a"])", "vdd",
                "vss") +
         R"(open = ["x.a"])";
}

std::string supply(const std::string& part) {
  return "[parts]\nx = { " + part +
         " }\ni = { kind = \"current-source\", current = \"@\" }\n[nets]\n"
         "hot = [\"x.plus\", \"i.minus\"]\nground = [\"x.minus\", \"i.plus\"]\n";
}

const char* const kTwoSupplies = R"([parts]
v = { kind = "dc-supply", voltage = "@", current = "1 A" }
w = { kind = "dc-supply", voltage = "@", current = "1 A" }
r = { kind = "resistor", value = "100k" }
[nets]
top = ["v.plus", "r.a"]
middle = ["v.minus", "w.plus"]
ground = ["w.minus", "r.b"]
)";

const char* const kAdjustable = R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", type = "LM317" }
r = { kind = "resistor", value = "@" }
s = { kind = "resistor", value = "330R", power = "1 W" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
adj = ["x.adjust", "r.b", "s.a"]
ground = ["v.minus", "s.b"]
)";

const char* const kBackFed = R"([parts]
v = { kind = "voltage-source", voltage = "@" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "100R" }
[nets]
in = ["x.in", "r.a"]
out = ["x.out", "v.plus"]
ground = ["v.minus", "x.common", "r.b"]
)";

void check_edge(const Edge& edge, const std::string& text) {
  CAPTURE(edge.check, edge.below, edge.above);
  const auto of_severity = [&](const Bench& bench) -> const Finding* {
    const Finding* found = find(bench.verification.states.at(0), edge.check);
    return found != nullptr && found->severity == edge.severity ? found : nullptr;
  };
  const Bench below = verified(filled(text, edge.below));
  const Finding* quiet = of_severity(below);
  CAPTURE(quiet != nullptr ? quiet->message : "");
  CHECK(quiet == nullptr);
  const Bench above = verified(filled(text, edge.above));
  const Finding* told = of_severity(above);
  REQUIRE(told != nullptr);
  CHECK_FALSE(told->source.empty());
  CHECK_FALSE(told->message.empty());
  CHECK(told->span.begin.line > 0);
  REQUIRE(told->value.has_value());
  REQUIRE(told->limit.has_value());
  REQUIRE(margin(*told).has_value());
  CHECK(*margin(*told) < 0.0);
  // All edges below are drawn within 15 % of the limit.
  CHECK_THAT(*told->value, WithinRel(*told->limit, 0.15));
}

}  // namespace

// The limits are those of reference/parts/, which names the sheet of each.
TEST_CASE("a rating is told just above it and not just below", "[check][ratings]") {
  const auto fault = Severity::fault;
  const auto caution = Severity::caution;
  const std::string film = R"(kind = "resistor", value = "100R", power = "0.25 W")";
  const std::string plain = R"(kind = "capacitor", value = "1uF", rated = "16 V")";
  const std::string wet =
      R"(kind = "capacitor", value = "1uF", rated = "16 V", polarised = true)";
  const std::string rectifier = R"(kind = "diode", type = "1N4001")";
  const std::string red = R"(kind = "led", colour = "red")";
  const std::string drop = R"(kind = "led", drop = "2 V", power = "75 mW")";
  const std::string warm =
      R"(kind = "led", drop = "2 V", thermal_resistance = "530 K/W", )"
      R"(junction_max = "100 C")";
  const std::string zener =
      R"(kind = "zener", voltage = "5 V", power = "0.5 W", current = "90 mA")";

  // 100 ohm: 5 V make 250 mW, 3.873 V 150 mW (60 %, common practice, no source).
  check_edge({"resistor-power", fault, "", "5 V", "5.01 V"}, across(film, "a", "b"));
  check_edge({"resistor-power", caution, "", "3.87 V", "3.88 V"},
             across(film, "a", "b"));
  // At 112.5 C, halfway from 70 C to 155 C, half the power is left: 125 mW, 3.536 V.
  check_edge({"resistor-power", fault, "", "3.53 V", "3.54 V"},
             "ambient = \"112.5 C\"\n" + across(film, "a", "b"));
  // 250 V, metal film specification B/3 (2017), MF1/4W.
  check_edge({"resistor-voltage", fault, "", "249.9 V", "250.1 V"},
             across(R"(kind = "resistor", value = "1M")", "a", "b"));
  check_edge({"capacitor-voltage", fault, "", "16 V", "16.01 V"},
             across(plain, "a", "b"));
  check_edge({"capacitor-voltage", fault, "", "-16 V", "-16.01 V"},
             across(plain, "a", "b"));
  check_edge({"capacitor-voltage", caution, "", "12.79 V", "12.81 V"},
             across(wet, "plus", "minus"));
  check_edge({"capacitor-polarity", caution, "", "0.049 V", "0.051 V"},
             across(wet, "minus", "plus"));
  check_edge({"capacitor-polarity", fault, "", "0.99 V", "1.01 V"},
             across(wet, "minus", "plus"));

  // Diodes Inc. DS28002: 1.0 A; onsemi 1N4001/D: 50 V.
  check_edge({"diode-current", fault, "", "1 A", "1.001 A"},
             through(rectifier, "anode", "cathode"));
  check_edge({"diode-reverse", fault, "", "50 V", "50.01 V"},
             across(rectifier, "cathode", "anode"));
  check_edge({"zener-power", fault, "", "100 mA", "100.1 mA"},
             through(zener, "cathode", "anode"));
  check_edge({"zener-current", fault, "", "90 mA", "90.1 mA"},
             through(zener, "cathode", "anode"));

  // Kuphaldt vol. III ch. 3: 20 mA and 5 V; Kingbright WP7113LSYCK/J3: 75 mW, 530 K/W.
  check_edge({"led-current", caution, "", "20 mA", "20.1 mA"},
             through(red, "anode", "cathode"));
  check_edge({"led-reverse", fault, "", "5 V", "5.01 V"},
             across(red, "cathode", "anode"));
  check_edge({"led-power", fault, "", "37.5 mA", "37.6 mA"},
             through(drop, "anode", "cathode"));
  // (100 C - 25 C) / 530 K/W = 141.5 mW, 70.75 mA at 2 V.
  check_edge({"led-junction", fault, "", "70.7 mA", "70.8 mA"},
             through(warm, "anode", "cathode"));

  // Multicomp 2N3904: 200 mA, 40 V, 625 mW; gains of 70 at 1 mA and 30 at 100 mA make a
  // knee of 75 mA, and 200 mA want 10.5 mA, 62.5 mA 1.64 mA; 6 V from memory.
  check_edge({"transistor-current", fault, "", "10.4 mA", "10.6 mA"},
             kTransistorCurrent);
  check_edge({"transistor-voltage", fault, "", "40 V", "40.01 V"}, kTransistorVoltage);
  check_edge({"transistor-base", fault, "", "6 V", "6.01 V"}, kTransistorBase);
  check_edge({"transistor-power", fault, "", "1.62 mA", "1.66 mA"}, kTransistorPower);
  // 25 C + 200 K/W * P reaches 150 C at 625 mW as well.
  check_edge({"transistor-junction", fault, "", "1.62 mA", "1.66 mA"},
             kTransistorPower);

  // onsemi NDS7002A/D: 2N7000 200 mA, 20 V, 60 V.
  check_edge({"mosfet-current", fault, "", "200 mA", "200.1 mA"}, kMosCurrent);
  check_edge({"mosfet-gate", fault, "", "20 V", "20.01 V"}, kMosGate);
  check_edge({"mosfet-voltage", fault, "", "60 V", "60.01 V"}, kMosVoltage);

  // ST L7800: 35 V; distributor's page for L7805CV: 2.0 V dropout, 8 mA; onsemi 65 K/W.
  check_edge({"regulator-input", fault, "", "35 V", "35.01 V"},
             regulated("7805", "@", "10 mA"));
  check_edge({"regulator-dropout", fault, "", "7.01 V", "6.99 V"},
             regulated("7805", "@", "10 mA"));
  // 5 V less 1 ohm times 200 mA is 4 % low.
  check_edge({"regulator-output", fault, "", "199.9 mA", "200.1 mA"},
             "[parts]\nv = { kind = \"voltage-source\", voltage = \"9 V\" }\n"
             "x = { kind = \"regulator\", output = \"5 V\", resistance = \"1 ohm\", "
             "tolerance = \"4%\", quiescent = \"0 A\" }\n"
             "i = { kind = \"current-source\", current = \"@\" }\n[nets]\n"
             "in = [\"v.plus\", \"x.in\"]\nout = [\"x.out\", \"i.minus\"]\n"
             "ground = [\"v.minus\", \"x.common\", \"i.plus\"]\n");
  // Wing Shing 78L05: 100 mA; limit of 140 mA from memory.
  check_edge({"regulator-current", fault, "", "100 mA", "100.1 mA"},
             regulated("78L05", "8 V", "@"));
  // (150 C - 25 C) / 65 K/W = 1.923 W; 12 V in: 7 V * I + 12 V * 8 mA: I = 261 mA, and
  // the output's 4 % leave +-8 mA of it.
  check_edge({"regulator-junction", fault, "", "250 mA", "272 mA"},
             regulated("7805", "12 V", "@"));
  // National LM317 as quoted: 10 mA; 1.25 V over 125 ohm.
  check_edge({"regulator-load", caution, "", "120 ohm", "130 ohm"}, kAdjustable);
  // Metal burns within 5 s at 60 C: 25 C + 60 K/W (65 less 5 to the case) * 583 mW.
  check_edge({"touch", caution, "", "65 mA", "75 mA"}, regulated("7805", "12 V", "@"));

  // ST DocID018576: STM8S003 20 mA, 80 mA, 4 mA injected.
  check_edge({"controller-pin", fault, "", "20 mA", "20.1 mA"}, kPin);
  check_edge({"controller-pin", caution, "", "15.9 mA", "16.1 mA"}, kPin);
  check_edge({"controller-total", fault, "", "15.9 mA", "16.1 mA"}, kTotal);
  check_edge({"controller-clamp", fault, "", "3.9 mA", "4.1 mA"}, kClamp);
  check_edge({"controller-clamp", caution, "", "95 uA", "105 uA"}, kClamp);
  // From memory: brown-out at 4.3 V, operation to 5.5 V.
  check_edge({"controller-brownout", fault, "", "4.31 V", "4.29 V"}, chip_supply());
  check_edge({"controller-operating", caution, "", "5.5 V", "5.51 V"}, chip_supply());
  check_edge({"controller-operating", fault, "", "5.77 V", "5.78 V"}, chip_supply());
  check_edge({"controller-supply", fault, "", "6.5 V", "6.51 V"}, chip_supply());
  // Common practice, no source: 30 % and 70 % of 5 V.
  check_edge({"controller-level", caution, "", "3.51 V", "3.49 V"}, kLevel);

  const std::string jack =
      R"(kind = "dc-supply", voltage = "12 V", current = "500 mA")";
  check_edge({"supply-current", fault, "", "500 mA", "501 mA"}, supply(jack));
  check_edge({"supply-current", caution, "", "399 mA", "401 mA"}, supply(jack));
  check_edge({"supply-fed", caution, "", "-0.99 mA", "-1.01 mA"}, supply(jack));
  // encyc.org CR2032: 3 mA continuous, 15 mA pulse.
  const std::string cell =
      R"(kind = "battery", chemistry = "lithium", size = "CR2032")";
  check_edge({"battery-current", caution, "", "3 mA", "3.01 mA"}, supply(cell));
  check_edge({"supply-fed", fault, "", "-0.99 mA", "-1.01 mA"}, supply(cell));

  // IEC 60127-2 sheet 2 as remembered: holds 1.5 times, opens at 2.1 times.
  const std::string fuse = R"(kind = "fuse", rated = "1 A")";
  check_edge({"fuse-current", caution, "", "0.749 A", "0.751 A"},
             through(fuse, "a", "b"));
  check_edge({"fuse-current", fault, "", "1.5 A", "1.51 A"}, through(fuse, "a", "b"));
  check_edge({"switch-current", fault, "", "1 A", "1.01 A"},
             through(R"(kind = "switch", rated = "1 A")", "a", "b") +
                 "[states.on]\nx = \"closed\"\n");
  check_edge({"inductor-current", fault, "", "1 A", "1.01 A"},
             through(R"(kind = "inductor", value = "1 mH", rated = "1 A")", "a", "b"));
  const std::string lamp = R"(kind = "lamp", voltage = "6 V", current = "50 mA")";
  check_edge({"load-voltage", caution, "", "6.6 V", "6.61 V"}, across(lamp, "a", "b"));
  check_edge({"load-voltage", fault, "", "7.8 V", "7.81 V"}, across(lamp, "a", "b"));

  // IEC 60335-1:2010, 3.4.2: 60 V.
  check_edge({"net-voltage", fault, "", "30 V", "30.1 V"}, kTwoSupplies);
  check_edge({"net-voltage", caution, "", "60 V", "60.1 V"},
             across(R"(kind = "resistor", value = "1M")", "a", "b"));
}

// encyc.org CR2032: 15 mA pulse. A coin cell sags, and nothing is destroyed; one that
// can be charged and gives so much is another matter.
TEST_CASE("a coin cell past its pulse rating gets a caution, and so does its LED",
          "[check][ratings]") {
  const auto lit = [](const char* cells) {
    return verified(filled(R"([parts]
x = { kind = "battery", chemistry = "lithium", size = "CR2032", cells = @ }
lamp = { kind = "led", colour = "red" }
[nets]
hot = ["x.plus", "lamp.anode"]
ground = ["x.minus", "lamp.cathode"]
)",
                           cells));
  };
  const Bench one = lit("1");
  const Finding* cell = find(one.verification.states[0], "battery-current", "x");
  REQUIRE(cell != nullptr);
  CHECK(cell->severity == Severity::caution);
  CHECK(cell->limit == 15e-3);
  const Finding* led = find(one.verification.states[0], "led-current", "lamp");
  REQUIRE(led != nullptr);
  CHECK(led->severity == Severity::caution);
  CHECK_THAT(led->message, Catch::Contains("sags within minutes"));
  // Two in a row send more than twice its usual current through a red LED.
  const Bench two = lit("2");
  led = find(two.verification.states[0], "led-current", "lamp");
  REQUIRE(led != nullptr);
  CHECK(led->severity == Severity::fault);
}

// Half a track carries what the whole one may: 10 mA through 1 kohm are 100 mW. Near
// the end it is a spot that heats: a fault at twice that. Common practice, no source.
TEST_CASE("what a trimmer's track bears is a current", "[check][ratings]") {
  const auto at = [](const char* amps) {
    const auto bench = verified(
        std::string("[parts]\ni = { kind = \"current-source\", current = \"") + amps +
        "\" }\nx = { kind = \"trimmer\", value = \"1k\", turn = 0.5, "
        "power = \"0.1 W\" }\n[nets]\nhot = [\"i.plus\", \"x.a\"]\n"
        "ground = [\"i.minus\", \"x.wiper\", \"x.b\"]\n");
    const Finding* told = find(bench.verification.states[0], "resistor-power", "x");
    return told == nullptr ? Severity::note : told->severity;
  };
  CHECK(at("7 mA") == Severity::note);
  CHECK(at("10.01 mA") == Severity::caution);
  CHECK(at("19.99 mA") == Severity::caution);
  CHECK(at("20.01 mA") == Severity::fault);
}

TEST_CASE("a regulator held from behind, reversed or at its limit is told",
          "[check][ratings]") {
  const auto back = verified(filled(kBackFed, "5 V"));
  const Finding* fed = find(back.verification.states[0], "regulator-back-feed", "x");
  REQUIRE(fed != nullptr);
  CHECK(fed->severity == Severity::caution);

  const auto turned = verified(regulated("7805", "-1 V", "0 A"));
  const Finding* reversed =
      find(turned.verification.states[0], "regulator-reverse", "x");
  REQUIRE(reversed != nullptr);
  CHECK(reversed->severity == Severity::fault);

  // A diode before the input keeps the harm away.
  const auto guarded = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
d = { kind = "diode", type = "1N5819" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "1k" }
[nets]
hot = ["v.minus", "d.anode"]
in = ["d.cathode", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.plus", "x.common", "r.b"]
)");
  CHECK(find(guarded.verification.states[0], "regulator-reverse") == nullptr);

  const std::string loaded = R"([parts]
v = { kind = "voltage-source", voltage = "8 V" }
x = { kind = "regulator", type = "78L05" }
r = { kind = "resistor", value = "@", power = "5 W" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)";
  // 78L05: the part limits at 140 mA (from memory), 4.9 V / 140 mA = 35 ohm.
  CHECK(find(verified(filled(loaded, "36 ohm")).verification.states[0],
             "regulator-limit") == nullptr);
  const auto limiting = verified(filled(loaded, "30 ohm"));
  const Finding* limit = find(limiting.verification.states[0], "regulator-limit");
  REQUIRE(limit != nullptr);
  CHECK(find(limiting.verification.states[0], "regulator-current") == nullptr);
}

TEST_CASE("a regulator and a chip that are switched off are no fault",
          "[check][ratings]") {
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
s = { kind = "switch" }
x = { kind = "regulator", type = "7805" }
ci = { kind = "capacitor", value = "0.33 uF", rated = "50 V" }
co = { kind = "capacitor", value = "0.1 uF", rated = "50 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
[nets]
raw = ["v.plus", "s.a"]
in = ["s.b", "x.in", "ci.a"]
out = ["x.out", "chip.vdd", "co.a"]
ground = ["v.minus", "x.common", "chip.vss", "ci.b", "co.b"]
open = ["chip.a"]
[states.off]
[states.on]
s = "closed"
)");
  CHECK(bench.verification.states[0].findings.empty());
  CHECK(bench.verification.states[1].findings.empty());
}

TEST_CASE("a finding that follows from another says so and ranks below it",
          "[check][ratings]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "6 V" }
x = { kind = "regulator", type = "7805" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
[nets]
in = ["v.plus", "x.in"]
rail = ["x.out", "chip.vdd"]
ground = ["v.minus", "x.common", "chip.vss"]
open = ["chip.a"]
[[expect]]
net = "rail"
voltage = { nominal = "5 V", within = "4%" }
)");
  const StateResult& state = bench.verification.states[0];
  REQUIRE(state.findings.size() == 3);
  CHECK(state.findings[0].check == "regulator-dropout");
  CHECK(state.findings[0].follows.empty());
  CHECK(state.findings[1].check == "controller-brownout");
  CHECK(state.findings[1].follows == "regulator-dropout");
  CHECK(state.findings[2].check == "expectation");
  CHECK(state.findings[2].follows == "regulator-dropout");
}

namespace {

/// A chip that drives an LED through a resistor; @ is the output's setting.
std::string driven(const std::string& led, const std::string& ohms,
                   const std::string& setting) {
  return "[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
         "chip = { kind = \"controller\", outputs = [\"a\"], resistance_high = "
         "\"10 ohm\", resistance_low = \"10 ohm\" }\n"
         "r = { kind = \"resistor\", value = \"" +
         ohms + "\", power = \"1 W\" }\nx = { " + led +
         " }\n[nets]\nvdd = [\"v.plus\", \"chip.vdd\"]\na = [\"chip.a\", \"r.a\"]\n"
         "m = [\"r.b\", \"x.anode\"]\n"
         "ground = [\"v.minus\", \"chip.vss\", \"x.cathode\"]\n"
         "[states.on]\n\"chip.a\" = " +
         setting + "\n";
}

const std::string kPulsedLed =
    R"(kind = "led", drop = "2 V", current = "20 mA", pulse = "100 mA")";

}  // namespace

// (12 V - 2 V) / 20 mA = 500 ohm, less what the switch takes: the next of E24 (IEC
// 60063) is 510 ohm.
TEST_CASE("behind a switch that lamps share a resistor is told roughly",
          "[check][ratings]") {
  const auto bench = verified(R"([parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = true }
door = { kind = "switch" }
r1 = { kind = "resistor", value = "330R", power = "1 W" }
l1 = { kind = "led", drop = "2 V", current = "20 mA" }
r2 = { kind = "resistor", value = "1k", power = "1 W" }
l2 = { kind = "led", drop = "2 V", current = "20 mA" }
[paths]
one = ["jack.plus", "door", "after", "r1", "l1", "ground", "jack.minus"]
two = ["after", "r2", "l2", "ground"]
[states.on]
door = "closed"
)");
  const Finding* finding = find(bench.verification.states[0], "led-current", "l1");
  REQUIRE(finding != nullptr);
  CHECK_THAT(finding->message, Catch::Contains("raise 'r1' to some 510 ohm or more"));
}

// 3 V over R + 10 ohm: 50 mA at 50 ohm, 150 mA at 10 ohm.
TEST_CASE("a pulsed LED is judged by its average and by its pulse",
          "[check][ratings][pwm]") {
  const auto find_current = [](const Bench& bench) {
    return find(bench.verification.states[0], "led-current", "x");
  };
  const auto pulsed = [](const char* ohms, const char* duty) {
    return verified(
        driven(kPulsedLed, ohms,
               std::string("{ pwm = \"") + duty + R"(", frequency = "1 kHz" })"));
  };
  const auto mild = pulsed("50R", "30%");  // 15 mA on average, 50 mA while on
  const Finding* caution = find_current(mild);
  REQUIRE(caution != nullptr);
  CHECK(caution->severity == Severity::caution);
  CHECK(caution->phase == "on");
  // 3 V / 20 mA - 10 ohm = 140 ohm: the next of E24 (IEC 60063) is 150 ohm.
  CHECK_THAT(caution->message, Catch::Contains("raise 'r' to at least 150 ohm"));

  const auto hot = pulsed("50R", "50%");  // 25 mA on average
  const Finding* lasting = find_current(hot);
  REQUIRE(lasting != nullptr);
  CHECK(lasting->severity == Severity::fault);
  CHECK(lasting->phase.empty());
  CHECK_THAT(*lasting->value, WithinRel(0.025, 1e-5));

  const auto strong = pulsed("10R", "10%");  // 15 mA on average, 150 mA while on
  const Finding* pulse = find_current(strong);
  REQUIRE(pulse != nullptr);
  CHECK(pulse->severity == Severity::fault);
  CHECK(pulse->phase == "on");
  CHECK_THAT(*pulse->limit, WithinRel(0.1, 1e-12));

  const auto tame = pulsed("180R", "90%");  // 15.8 mA while on
  CHECK(find_current(tame) == nullptr);
}

// Kingbright: 140 mA for 0.1 ms at a duty of 1/10. (5 V - 2 V) / (13 ohm + 10 ohm) are
// 130 mA. What the frequency says of the pulses' length counts, as it does in a run.
TEST_CASE("an LED's pulses at rest are held to their rating's time and duty",
          "[check][ratings][pwm]") {
  const std::string led =
      R"(kind = "led", drop = "2 V", current = "20 mA", )"
      R"(pulse = "140 mA", pulse_time = "0.1 ms", pulse_duty = "10%")";
  const auto told = [&](const char* duty, const char* hertz, const char* ohms = "13R") {
    const auto bench = verified(driven(
        led, ohms,
        std::string("{ pwm = \"") + duty + R"(", frequency = ")" + hertz + "\" }"));
    const Finding* found = find(bench.verification.states[0], "led-current", "x");
    return found == nullptr ? std::optional<Finding>() : *found;
  };
  const auto within = told("10%", "1 kHz");
  REQUIRE(within);  // An output that sticks would be too much.
  CHECK(within->severity == Severity::caution);
  CHECK_THAT(within->message, Catch::Contains("while on"));

  const auto far = told("14.5%", "100 Hz");
  REQUIRE(far);
  CHECK(far->severity == Severity::fault);
  CHECK_THAT(far->message, Catch::Contains("too long (14.5 times) and too frequent "
                                           "(1.45 times)") &&
                               Catch::Contains("raise 'r' to at least"));
  const auto fifth = told("9.6%", "800 Hz");
  REQUIRE(fifth);
  CHECK(fifth->severity == Severity::caution);
  CHECK_THAT(fifth->message, Catch::Contains("too long (1.2 times) for"));
  const auto high = told("5%", "1 kHz", "10R");
  REQUIRE(high);
  CHECK(high->severity == Severity::fault);
  CHECK_THAT(high->message, Catch::Contains("too high (1.07 times) for"));
  // 30 mA are borne for longer than 130 mA, but no longer by the rating.
  const auto low = told("20%", "100 Hz", "90R");
  REQUIRE(low);
  CHECK(low->severity == Severity::caution);
  CHECK_THAT(low->message, Catch::Contains("too long (20 times) and too frequent"));
}

TEST_CASE("how long an LED's pulses last is told by the outputs that make them",
          "[check][ratings][pwm]") {
  // One LED at two outputs, each through a resistor of its own: 65 mA from each.
  const auto told = [](const char* a, const char* b) {
    const auto bench = verified(std::string(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", outputs = ["a", "b"], resistance_high = "1 ohm", resistance_low = "1 ohm" }
ra = { kind = "resistor", value = "45R", power = "1 W" }
rb = { kind = "resistor", value = "45R", power = "1 W" }
da = { kind = "diode", drop = "0 V" }
db = { kind = "diode", drop = "0 V" }
x = { kind = "led", drop = "2 V", current = "50 mA", pulse = "140 mA", pulse_time = "0.1 ms" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "ra.a"]
b = ["chip.b", "rb.a"]
ma = ["ra.b", "da.anode"]
mb = ["rb.b", "db.anode"]
m = ["da.cathode", "db.cathode", "x.anode"]
ground = ["v.minus", "chip.vss", "x.cathode"]
[states.on]
"chip.a" = )") + a +
                                "\n\"chip.b\" = " + b + "\n");
    const Finding* found = find(bench.verification.states[0], "led-current", "x");
    return found == nullptr ? std::string() : found->message;
  };
  using Catch::Contains;
  // Either is enough: no longer than their share of the slower one's period.
  CHECK_THAT(told(R"({ pwm = "9%", frequency = "1 kHz" })",
                  R"({ pwm = "5%", frequency = "100 Hz" })"),
             Contains("too long"));
  CHECK_THAT(told(R"({ pwm = "9%", frequency = "1 kHz" })", R"("low")"),
             Contains("while on") && !Contains("too long"));
  // One after the other in the same period: up to 0.1 ms, and beyond.
  CHECK_THAT(told(R"({ pwm = "9%", frequency = "1 kHz" })",
                  R"({ pwm = "10%", frequency = "1 kHz" })"),
             Contains("while on") && !Contains("too long"));
  CHECK_THAT(told(R"({ pwm = "9%", frequency = "1 kHz" })",
                  R"({ pwm = "12%", frequency = "1 kHz" })"),
             Contains("up to 120 us long"));
}

TEST_CASE("the value that an LED's message proposes is right, its neighbour is not",
          "[check][ratings]") {
  const std::string red = R"(kind = "led", colour = "red")";
  const auto bench = verified(driven(red, "33R", "\"high\""));
  const Finding* finding = find(bench.verification.states[0], "led-current");
  REQUIRE(finding != nullptr);
  // 5 V less 2.0 V at 20 mA (Vishay 83012), over 20 mA, less 10 ohm: 140 ohm.
  CHECK_THAT(finding->message, Catch::Contains("raise 'r' to at least 150 ohm"));
  // A figure that is typical is not called a rating, past what all bear either.
  CHECK(finding->severity == Severity::fault);
  CHECK_THAT(finding->message,
             Catch::Contains("exceeds the 20 mA usual operating current of 'x'") &&
                 Catch::Contains("not every type stands more than 25 mA"));
  const std::string rated = R"(kind = "led", drop = "2 V", current = "20 mA")";
  const auto own = verified(driven(rated, "33R", "\"high\""));
  CHECK_THAT(find(own.verification.states[0], "led-current")->message,
             Catch::Contains("exceeds the 20 mA continuous rating of 'x'"));
  CHECK(find(verified(driven(red, "150R", "\"high\"")).verification.states[0],
             "led-current") == nullptr);
  CHECK(find(verified(driven(red, "130R", "\"high\"")).verification.states[0],
             "led-current") != nullptr);
}

TEST_CASE("heat is averaged over a fast PWM and not over a slow one",
          "[check][ratings][pwm]") {
  // 2 V at 50 mA are 100 mW while on.
  const std::string led = R"(kind = "led", drop = "2 V", power = "75 mW")";
  const auto power = [&](const char* hertz) {
    const auto bench = verified(driven(
        led, "50R", std::string(R"({ pwm = "50%", frequency = ")") + hertz + "\" }"));
    return find(bench.verification.states[0], "led-power") != nullptr;
  };
  CHECK_FALSE(power("1 kHz"));
  CHECK(power("1 Hz"));
}

TEST_CASE("a diode's pulses are held against its surge rating",
          "[check][ratings][pwm]") {
  const auto surge = [](const char* ohms) {
    // About 4.1 V over R + 10 ohm: 0.39 A and 0.2 A, a tenth of that on average, for
    // which PanJit's 1N4148 is good (150 mA).
    const auto bench =
        verified(driven(R"(kind = "diode", type = "1N4148", surge = "300 mA")", ohms,
                        R"({ pwm = "10%", frequency = "1 kHz" })"));
    return find(bench.verification.states[0], "diode-surge") != nullptr;
  };
  CHECK(surge("0R01"));
  CHECK_FALSE(surge("10R"));
}

// ST DocID018576: 20 mA. 5 V over the 233.3 ohm of an output without a published
// resistance and 1 ohm are 21.3 mA, if only for a tenth of the time.
TEST_CASE("a pin's limit holds in any phase", "[check][ratings][pwm]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
x = { kind = "controller", type = "STM8S003", outputs = ["a"], resistance_high = "233.3 ohm" }
r = { kind = "resistor", value = "1R" }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "r.a"]
ground = ["v.minus", "x.vss", "r.b"]
[states.on]
"x.a" = { pwm = "10%", frequency = "1 kHz" }
)");
  const Finding* finding = find(bench.verification.states[0], "controller-pin", "x");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::fault);
  CHECK(finding->phase == "on");
  CHECK_THAT(*finding->value, WithinRel(5.0 / 234.3, 1e-4));
}

// 5 V over 2.6 ohm for a quarter of the time: 1.923 A while on, 0.9615 A root mean
// square.
TEST_CASE("a fuse heats by the mean square", "[check][ratings][pwm]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
x = { kind = "controller", outputs = ["a"], resistance_high = "1 uohm", resistance_low = "1 uohm" }
r = { kind = "resistor", value = "2R5", power = "20 W" }
f = { kind = "fuse", rated = "1.2 A", resistance = "0.1 ohm" }
[nets]
vdd = ["v.plus", "x.vdd"]
a = ["x.a", "r.a"]
m = ["r.b", "f.a"]
ground = ["v.minus", "x.vss", "f.b"]
[states.on]
"x.a" = { pwm = "25%", frequency = "1 kHz" }
)");
  const Finding* finding = find(bench.verification.states[0], "fuse-current", "f");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::caution);
  CHECK_THAT(*finding->value, WithinRel(5.0 / 2.6 / 2.0, 1e-5));
}

TEST_CASE("a rating that is only assumed is called so", "[check][ratings]") {
  const auto message = [](const char* resistor) {
    const auto bench = verified(filled(across(resistor, "a", "b"), "10 V"));
    const Finding* finding = find(bench.verification.states[0], "resistor-power");
    REQUIRE(finding != nullptr);
    return finding->message;
  };
  // Common practice, no source: 0.25 W where none is given.
  CHECK(message(R"(kind = "resistor", value = "100R")") ==
        "1 W exceeds the 250 mW rating of 'x', assumed without 'power'; use one of 2 W "
        "or more");
  CHECK(message(R"(kind = "resistor", value = "100R", power = "0.5 W")") ==
        "1 W exceeds the 500 mW rating of 'x'; use one of 2 W or more");
}

// AZoM article 14729: 3 Hz to 70 Hz; DIAL: flicker is seen up to 80 Hz.
TEST_CASE("light that flashes at 3 to 80 Hz is told", "[check][ratings][pwm]") {
  const auto flicker = [](const char* hertz) {
    const auto bench = verified(
        driven(kPulsedLed, "180R",
               std::string(R"({ pwm = "50%", frequency = ")") + hertz + "\" }"));
    const Finding* finding = find(bench.verification.states[0], "flicker", "x");
    return finding == nullptr ? std::string() : finding->message;
  };
  CHECK(flicker("2.9 Hz").empty());
  CHECK_THAT(flicker("3 Hz"), Catch::Contains("seizure"));
  CHECK_THAT(flicker("70 Hz"), Catch::Contains("seizure"));
  CHECK_THAT(flicker("75 Hz"), !Catch::Contains("seizure") && Catch::Contains("75 Hz"));
  CHECK(flicker("81 Hz").empty());
}

// IEEE Std 1789-2015 as remembered (the 8 % at 100 Hz are verified, secondary): low
// risk up to 0.025 % per Hz below 90 Hz, 0.08 % per Hz up to 1250 Hz, anything above.
TEST_CASE("an LED's PWM is held to the limit of low risk", "[check][ratings][pwm]") {
  const auto risk = [](const char* hertz) {
    auto bench = verified(
        driven(kPulsedLed, "180R",
               std::string(R"({ pwm = "50%", frequency = ")") + hertz + "\" }"));
    const Finding* finding = find(bench.verification.states[0], "flicker-risk", "x");
    return finding == nullptr ? std::optional<Finding>() : *finding;
  };
  for (const char* hertz : {"2.9 Hz", "50 Hz", "1250 Hz", "2 kHz"})
    CHECK_FALSE(risk(hertz).has_value());  // Slow ones have the caution above.
  for (const auto& [hertz, limit] : {std::pair{"85 Hz", 0.02125},
                                     {"90 Hz", 0.072},
                                     {"100 Hz", 0.08},
                                     {"1249 Hz", 0.9992}}) {
    const auto finding = risk(hertz);
    CAPTURE(hertz);
    REQUIRE(finding.has_value());
    CHECK(finding->severity == Severity::note);
    CHECK(finding->mark == Mark::memory);
    CHECK_THAT(*finding->value, WithinRel(1.0, 1e-4));
    CHECK_THAT(*finding->limit, WithinRel(limit, 1e-12));
  }
}

// 20 mA all the time by 150 ohm and 1.2 % more of it through 12 kohm while on: a depth
// of 0.6 %.
TEST_CASE("an LED that PWM hardly changes is of low risk unless it is slow",
          "[check][ratings][pwm]") {
  const auto risk = [](const char* hertz) {
    const auto bench = verified(
        "[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
        "chip = { kind = \"controller\", outputs = [\"a\"] }\n"
        "r = { kind = \"resistor\", value = \"150R\" }\n"
        "q = { kind = \"resistor\", value = \"12k\" }\nx = { " +
        kPulsedLed +
        " }\n[nets]\nvdd = [\"v.plus\", \"chip.vdd\", \"r.a\"]\n"
        "a = [\"chip.a\", \"q.a\"]\nm = [\"r.b\", \"q.b\", \"x.anode\"]\n"
        "ground = [\"v.minus\", \"chip.vss\", \"x.cathode\"]\n[states.on]\n"
        "\"chip.a\" = { pwm = \"50%\", frequency = \"" +
        std::string(hertz) + "\" }\n");
    return find(bench.verification.states[0], "flicker-risk", "x") != nullptr;
  };
  CHECK(risk("20 Hz"));         // 0.5 % allowed
  CHECK_FALSE(risk("100 Hz"));  // 8 %
}

TEST_CASE("an input or a gate that only leakage holds is a fault", "[check][ratings]") {
  const std::string text = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", type = "cmos-5v", inputs = ["key"] }
s = { kind = "switch" }
@[nets]
vdd = ["v.plus", "chip.vdd", "s.a"]
)";
  const auto open = verified(filled(text, "") + R"(key = ["chip.key", "s.b"]
ground = ["v.minus", "chip.vss"]
[states.up]
[states.down]
s = "closed"
)");
  const Finding* finding = find(open.verification.states[0], "net-hanging", "key");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::fault);
  CHECK(finding->part == "chip");
  CHECK(find(open.verification.states[1], "net-hanging") == nullptr);

  const auto held =
      verified(filled(text, "r = { kind = \"resistor\", value = \"10k\" }\n") +
               R"(key = ["chip.key", "s.b", "r.a"]
ground = ["v.minus", "chip.vss", "r.b"]
)");
  CHECK(find(held.verification.states[0], "net-hanging") == nullptr);

  const auto diode =
      verified(filled(text, "d = { kind = \"diode\", type = \"1N4148\" }\n") +
               R"(key = ["chip.key", "s.b", "d.cathode"]
ground = ["v.minus", "chip.vss", "d.anode"]
)");
  CHECK(find(diode.verification.states[0], "net-hanging", "key") != nullptr);

  const auto gate = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
s = { kind = "switch" }
x = { kind = "mosfet", type = "2N7000" }
r = { kind = "resistor", value = "1k" }
[nets]
vdd = ["v.plus", "s.a", "r.a"]
gate = ["s.b", "x.gate"]
drain = ["r.b", "x.drain"]
ground = ["v.minus", "x.source"]
)");
  const Finding* loose = find(gate.verification.states[0], "net-hanging", "gate");
  REQUIRE(loose != nullptr);
  CHECK(loose->severity == Severity::fault);

  // An output that a state opens holds it the rest of the time.
  const auto driven = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["o"] }
x = { kind = "mosfet", type = "2N7000" }
r = { kind = "resistor", value = "1k" }
[nets]
vdd = ["v.plus", "chip.vdd", "r.a"]
gate = ["chip.o", "x.gate"]
drain = ["r.b", "x.drain"]
ground = ["v.minus", "chip.vss", "x.source"]
[states.starting]
"chip.o" = "open"
)");
  const Finding* at_times = find(driven.verification.states[0], "net-hanging", "gate");
  REQUIRE(at_times != nullptr);
  CHECK(at_times->severity == Severity::caution);
}

TEST_CASE("an LED behind an open switch is no net that hangs", "[check][ratings]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
s = { kind = "switch" }
r = { kind = "resistor", value = "330R" }
x = { kind = "led", colour = "red" }
[nets]
vdd = ["v.plus", "s.a"]
top = ["s.b", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["v.minus", "x.cathode"]
[states.off]
[states.on]
s = "closed"
)");
  CHECK(bench.verification.states[0].findings.empty());
  CHECK(bench.verification.states[1].findings.empty());
}

TEST_CASE("a chip that is off and fed through a pin is told", "[check][ratings]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
s = { kind = "switch" }
chip = { kind = "controller", type = "cmos-5v", inputs = ["key"] }
r = { kind = "resistor", value = "1k" }
[nets]
raw = ["v.plus", "s.a", "r.a"]
vdd = ["s.b", "chip.vdd"]
key = ["r.b", "chip.key"]
ground = ["v.minus", "chip.vss"]
)");
  CHECK(find(bench.verification.states[0], "controller-clamp", "chip") != nullptr);
}

TEST_CASE("a transistor that is short of base current is told", "[check][ratings]") {
  const auto switched = [](const char* base) {
    return verified(filled(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
rb = { kind = "resistor", value = "@" }
rc = { kind = "resistor", value = "50R", power = "2 W" }
x = { kind = "transistor", type = "2N2222A" }
[nets]
vdd = ["v.plus", "chip.vdd", "rc.a"]
a = ["chip.a", "rb.a"]
b = ["rb.b", "x.base"]
c = ["rc.b", "x.collector"]
ground = ["v.minus", "chip.vss", "x.emitter"]
[states.on]
"chip.a" = "high"
)",
                           base));
  };
  // NXP PMBT2222A: gain of 50 at least; 94 mA need 1.9 mA of base current.
  const auto told = [&](const char* base, const char* check) {
    return find(switched(base).verification.states[0], check, "x");
  };
  CHECK(told("1k", "transistor-saturation") == nullptr);
  CHECK(told("2k2", "transistor-saturation") != nullptr);
  CHECK(told("2k2", "transistor-half-on") == nullptr);
}

TEST_CASE("a part with a model of its own is noted once", "[check][ratings]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
r = { kind = "resistor", value = "330R" }
x = { kind = "led", drop = "2 V" }
[nets]
top = ["v.plus", "r.a"]
mid = ["r.b", "x.anode"]
ground = ["v.minus", "x.cathode"]
[states.one]
[states.two]
)");
  const auto& states = bench.verification.states;
  const Finding* note = find(states[0], "unrated", "x");
  REQUIRE(note != nullptr);
  CHECK(note->severity == Severity::note);
  CHECK_FALSE(note->source.empty());
  CHECK(find(states[1], "unrated") == nullptr);
  CHECK(bench.verification.verdict == benchproof::Verdict::good);
}

TEST_CASE("what a controller without a type bears is told to be unchecked",
          "[check][ratings]") {
  const auto with = [](const char* figures) {
    return verified(std::string(R"([parts]
v = { kind = "dc-supply", voltage = "12 V", current = "1 A" }
x = { kind = "controller", outputs = ["out"])") +
                    figures + R"( }
r = { kind = "resistor", value = "1k", power = "0.5 W" }
[nets]
top = ["v.plus", "x.vdd"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.vss", "r.b"]
)");
  };
  const auto bare = with("");
  const Finding* note = find(bare.verification.states[0], "unrated", "x");
  REQUIRE(note != nullptr);
  CHECK_THAT(note->message, Catch::Contains("supply voltage, current of a pin of 'x'"));
  CHECK_THAT(note->message, Catch::Contains("'type'"));
  const auto half = with(", supply_max = \"15 V\"");
  note = find(half.verification.states[0], "unrated", "x");
  REQUIRE(note != nullptr);
  CHECK_THAT(note->message, !Catch::Contains("supply voltage"));
  for (const char* enough :
       {R"(, type = "cmos-5v")", R"(, supply_max = "15 V", pin_limit = "5 mA")"}) {
    CAPTURE(enough);
    const auto bench = with(enough);
    CHECK(find(bench.verification.states[0], "unrated", "x") == nullptr);
  }
}

TEST_CASE("a MOS transistor's heat is looked at with its sheet's resistance as well",
          "[check][ratings]") {
  const auto carries = [](const char* amps, const char* gate, const char* more = "") {
    return verified(std::string(R"([parts]
v = { kind = "voltage-source", voltage = "12 V" }
g = { kind = "voltage-source", voltage = ")") +
                    gate + R"(" }
x = { kind = "mosfet", type = "IRF540N")" +
                    more + R"( }
load = { kind = "lamp", voltage = "12 V", current = ")" +
                    amps + R"(" }
[nets]
top = ["v.plus", "load.a"]
drain = ["load.b", "x.drain"]
gate = ["g.plus", "x.gate"]
ground = ["v.minus", "g.minus", "x.source"]
)");
  };
  // IRF540N as remembered: 44 mohm at 10 V, 62 K/W, 175 C; twice the resistance at
  // 125 C. 150 K = 62 K/W P (1 + 150 K / 100 K): P = 0.968 W at 25 C, 4.69 A through
  // 44 mohm; past a quarter 187.5 K: 1.052 W, 4.89 A. The model has half of that at
  // 15 V.
  const auto hot = carries("4.8 A", "15 V");
  const Finding* finding = find(hot.verification.states[0], "mosfet-sheet-heat", "x");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::caution);
  CHECK(find(hot.verification.states[0], "mosfet-junction") == nullptr);
  const double amps = std::abs(hot.verification.states[0].nodal.pin_amps[2][1]);
  const double cold = amps * amps * 0.044 * 62.0;
  CHECK_THAT(*finding->value,
             WithinRel((25.0 + 0.75 * cold) / (1.0 - 0.01 * cold), 1e-9));
  const auto is_told = [](const Bench& bench) {
    return find(bench.verification.states[0], "mosfet-sheet-heat") != nullptr;
  };
  CHECK_FALSE(is_told(carries("4.6 A", "15 V")));
  const auto far = carries("5.0 A", "15 V");
  CHECK(find(far.verification.states[0], "mosfet-sheet-heat")->severity ==
        Severity::fault);
  // 100 K / 62 K/W = 1.61 W, 6.05 A: beyond that each kelvin makes more heat than it
  // takes away.
  const auto endless = carries("6.3 A", "15 V");
  CHECK_THAT(find(endless.verification.states[0], "mosfet-sheet-heat")->message,
             Catch::Contains("finds no equilibrium"));
  // On a heat sink it has room; where the model is too hot, that is told.
  CHECK_FALSE(is_told(carries("8 A", "15 V", ", heatsink = \"10 K/W\"")));
  const auto low = carries("10 A", "7 V");
  CHECK_FALSE(is_told(low));
  CHECK(find(low.verification.states[0], "mosfet-junction") != nullptr);
}

TEST_CASE("an adjustable regulator's lack of room is told from its adjust pin",
          "[check][ratings]") {
  // 1.25 V (1 + 910 / 240) = 6 V, and 2 V more are wanted: 7.5 V do not do.
  const auto bench = verified(R"([parts]
v = { kind = "dc-supply", voltage = "7.5 V", current = "1 A" }
x = { kind = "regulator", type = "LM317" }
r = { kind = "resistor", value = "240R" }
s = { kind = "resistor", value = "910R" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
adj = ["x.adjust", "r.b", "s.a"]
ground = ["v.minus", "s.b"]
)");
  const Finding* low = find(bench.verification.states[0], "regulator-dropout", "x");
  REQUIRE(low != nullptr);
  CHECK_THAT(low->message, Catch::Contains("from its adjust pin to its input"));
  CHECK_THAT(low->message,
             Catch::Contains("must lie at least 2 V above what it is to give"));
  CHECK_THAT(low->message, !Catch::Contains("3.25 V"));
}

TEST_CASE("batteries that ask for care are told once", "[check][ratings]") {
  const auto battery = [](const char* chemistry, const char* size, bool is_fused) {
    return verified(std::string("[parts]\nb = { kind = \"battery\", chemistry = \"") +
                    chemistry + "\", size = \"" + size + "\" }\n" +
                    (is_fused ? "f = { kind = \"fuse\", rated = \"1 A\" }\n"
                              : "f = { kind = \"switch\" }\n") +
                    "r = { kind = \"resistor\", value = \"10k\" }\n[nets]\n"
                    "hot = [\"b.plus\", \"f.a\"]\nmid = [\"f.b\", \"r.a\"]\n"
                    "ground = [\"b.minus\", \"r.b\"]\n[states.one]\n[states.two]\n");
  };
  const auto message = [&](const char* chemistry, const char* size, bool is_fused) {
    const auto bench = battery(chemistry, size, is_fused);
    CHECK(find(bench.verification.states[1], "battery-care") == nullptr);
    const Finding* finding = find(bench.verification.states[0], "battery-care", "b");
    if (finding == nullptr) return std::string();
    CHECK(finding->severity == Severity::caution);
    CHECK_FALSE(finding->source.empty());
    return finding->message;
  };
  CHECK(message("alkaline", "AA", false).empty());
  CHECK_THAT(message("lithium", "CR2032", false), Catch::Contains("children"));
  CHECK_THAT(message("lithium-ion", "18650", false), Catch::Contains("fuse"));
  CHECK_THAT(message("lithium-ion", "18650", true), !Catch::Contains("fuse"));
  CHECK_THAT(message("lead-acid", "12V", false), Catch::Contains("fuse"));
  CHECK(message("lead-acid", "12V", true).empty());
}

TEST_CASE("heat that follows from current says so", "[check][ratings]") {
  const auto bench = verified(filled(
      through(R"(kind = "led", drop = "2 V", current = "20 mA", power = "75 mW", )"
              R"(thermal_resistance = "530 K/W", junction_max = "100 C")",
              "anode", "cathode"),
      "80 mA"));
  const StateResult& state = bench.verification.states[0];
  const Finding* current = find(state, "led-current");
  const Finding* power = find(state, "led-power");
  const Finding* junction = find(state, "led-junction");
  REQUIRE(current != nullptr);
  REQUIRE(power != nullptr);
  REQUIRE(junction != nullptr);
  CHECK(current->follows.empty());
  CHECK(power->follows == "led-current");
  CHECK(junction->follows == "led-current");
  // Both sources are named: the limit's and the thermal resistance's.
  CHECK(junction->mark == Mark::derived);
  CHECK_THAT(junction->source,
             Catch::Contains("limit:") && Catch::Contains("530 K/W:"));
}

TEST_CASE("every check has a name and says what it looks at", "[check]") {
  for (const benchproof::Check& check : benchproof::checks()) {
    CHECK_FALSE(check.name.empty());
    CHECK_FALSE(check.about.empty());
    REQUIRE(check.run != nullptr);
  }
}
