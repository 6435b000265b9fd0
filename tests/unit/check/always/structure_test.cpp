#include "tests/unit/check/bench.h"

using benchproof::Mark;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;

namespace {

/// A regulator of a type between two capacitors of which the values are given; empty:
/// there is none.
std::string with_capacitors(const std::string& type, const std::string& in,
                            const std::string& out) {
  const auto part = [](const char* name, const std::string& value) {
    return value.empty() ? std::string()
                         : std::string(name) +
                               R"( = { kind = "capacitor", rated = "50 V", value = ")" +
                               value + "\" }\n";
  };
  const auto pin = [](const char* name, const std::string& value) {
    return value.empty() ? std::string() : std::string(", \"") + name + "\"";
  };
  return "[parts]\nv = { kind = \"dc-supply\", voltage = \"9 V\", current = \"1 A\" }\n"
         "f = { kind = \"fuse\", rated = \"500 mA\" }\n"
         "x = { kind = \"regulator\", type = \"" +
         type + "\" }\nr = { kind = \"resistor\", value = \"1k\" }\n" + part("ci", in) +
         part("co", out) + "[nets]\nraw = [\"v.plus\", \"f.a\"" + pin("ci.a", in) +
         "]\nin = [\"f.b\", \"x.in\"]\nrail = [\"x.out\", \"r.a\"" + pin("co.a", out) +
         "]\nground = [\"v.minus\", \"x.common\", \"r.b\"" + pin("ci.b", in) +
         pin("co.b", out) + "]\n";
}

constexpr const char* kIn = "regulator-input-capacitor";
constexpr const char* kOut = "regulator-output-capacitor";

}  // namespace

TEST_CASE("a regulator without its capacitors gets a caution", "[check][structure]") {
  // 0.33 uF: onsemi MC7800 series, verified; 0.1 uF from memory.
  const auto bare = verified(with_capacitors("7805", "", ""));
  const auto& state = bare.verification.states[0];
  const auto* in = find(state, kIn, "x");
  const auto* out = find(state, kOut, "x");
  REQUIRE(in != nullptr);
  REQUIRE(out != nullptr);
  CHECK(in->severity == Severity::caution);
  CHECK(in->limit == 0.33e-6);
  CHECK(in->mark == Mark::verified);
  CHECK(out->severity == Severity::caution);
  CHECK(out->limit == 0.1e-6);

  const auto whole = verified(with_capacitors("7805", "0.33 uF", "0.1 uF"));
  CHECK(find(whole.verification.states[0], kIn) == nullptr);
  CHECK(find(whole.verification.states[0], kOut) == nullptr);
}

TEST_CASE("less capacitance than the sheet's matters to a low drop-out type only",
          "[check][structure]") {
  // LP2950: 2.2 uF in the typical circuit, TI SNVS764Q page 1, verified.
  const auto low = verified(with_capacitors("LP2950-5.0", "0.1 uF", "2 uF"));
  const auto* strict = find(low.verification.states[0], kOut, "x");
  REQUIRE(strict != nullptr);
  CHECK(strict->severity == Severity::caution);
  CHECK(strict->limit == 2.2e-6);
  const auto enough = verified(with_capacitors("LP2950-5.0", "0.1 uF", "2.2 uF"));
  CHECK(find(enough.verification.states[0], kOut) == nullptr);

  const auto classic = verified(with_capacitors("7805", "0.1 uF", "47 nF"));
  const auto* in = find(classic.verification.states[0], kIn, "x");
  const auto* out = find(classic.verification.states[0], kOut, "x");
  REQUIRE(in != nullptr);
  REQUIRE(out != nullptr);
  CHECK(in->severity == Severity::note);
  CHECK(out->severity == Severity::note);
}

TEST_CASE("a textbook's regulator on a raw source needs no capacitors",
          "[check][structure]") {
  const auto bench = verified(R"([parts]
v = { kind = "voltage-source", voltage = "9 V" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "1k" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
)");
  CHECK(find(bench.verification.states[0], kIn) == nullptr);
  CHECK(find(bench.verification.states[0], kOut) == nullptr);
}

namespace {

constexpr const char* kShared = "led-shared-resistor";

std::string leds(const std::string& parts, const std::string& nets) {
  return "[parts]\nv = { kind = \"dc-supply\", voltage = \"5 V\", current = \"1 A\" }\n"
         "r = { kind = \"resistor\", value = \"470R\" }\n"
         "a = { kind = \"led\", colour = \"red\" }\n"
         "b = { kind = \"led\", colour = \"red\" }\n" +
         parts + "[nets]\n" + nets;
}

}  // namespace

TEST_CASE("LEDs in parallel behind one resistor get a caution", "[check][structure]") {
  const auto high = verified(leds("", R"(in = ["v.plus", "r.a"]
out = ["r.b", "a.anode", "b.anode"]
ground = ["v.minus", "a.cathode", "b.cathode"]
)"));
  const auto* finding = find(high.verification.states[0], kShared);
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::caution);
  CHECK(finding->part == "a");
  CHECK_THAT(finding->message,
             Catch::StartsWith("'a' and 'b' stand in parallel behind 'r' alone"));
  // The resistor at the other end is as much shared.
  const auto low = verified(leds("", R"(in = ["v.plus", "a.anode", "b.anode"]
out = ["a.cathode", "b.cathode", "r.a"]
ground = ["v.minus", "r.b"]
)"));
  CHECK(find(low.verification.states[0], kShared) != nullptr);
}

TEST_CASE("strings of LEDs behind one resistor get it too", "[check][structure]") {
  const auto bench = verified(leds(R"(c = { kind = "led", colour = "red" }
d = { kind = "led", colour = "red" }
)",
                                   R"(in = ["v.plus", "r.a"]
out = ["r.b", "a.anode", "c.anode"]
ab = ["a.cathode", "b.anode"]
cd = ["c.cathode", "d.anode"]
ground = ["v.minus", "b.cathode", "d.cathode"]
)"));
  const auto* finding = find(bench.verification.states[0], kShared);
  REQUIRE(finding != nullptr);
  CHECK_THAT(finding->message, Catch::Contains("string 'a' and string 'c'"));
}

TEST_CASE("LEDs with resistors of their own, in series, and back to back are sound",
          "[check][structure]") {
  const char* const nets = GENERATE(
      // One each.
      R"(in = ["v.plus", "r.a", "q.a"]
out = ["r.b", "a.anode"]
out2 = ["q.b", "b.anode"]
ground = ["v.minus", "a.cathode", "b.cathode"]
)",
      // In series.
      R"(in = ["v.plus", "r.a", "q.a"]
out = ["r.b", "a.anode"]
mid = ["a.cathode", "b.anode"]
ground = ["v.minus", "b.cathode", "q.b"]
)",
      // The second one the other way round: never both at a time.
      R"(in = ["v.plus", "r.a", "q.a"]
out = ["r.b", "a.anode", "b.cathode"]
ground = ["v.minus", "a.cathode", "b.anode", "q.b"]
)");
  const auto bench =
      verified(leds("q = { kind = \"resistor\", value = \"470R\" }\n", nets));
  CAPTURE(nets);
  CHECK(find(bench.verification.states[0], kShared) == nullptr);
}

namespace {

/// A 7905 on a supply of which plus is ground, loaded with 100 ohm.
std::string negative(const char* volts) {
  return std::string(
             "[parts]\nv = { kind = \"dc-supply\", current = \"1 A\", voltage = \"") +
         volts +
         "\" }\nx = { kind = \"regulator\", type = \"7905\" }\n"
         "r = { kind = \"resistor\", value = \"100R\", power = \"1 W\" }\n"
         "ci = { kind = \"capacitor\", value = \"2.2 uF\", rated = \"50 V\" }\n"
         "co = { kind = \"capacitor\", value = \"1 uF\", rated = \"50 V\" }\n"
         "[nets]\nlow = [\"v.minus\", \"x.in\", \"ci.a\"]\n"
         "out = [\"x.out\", \"r.a\", \"co.a\"]\n"
         "ground = [\"v.plus\", \"x.common\", \"r.b\", \"ci.b\", \"co.b\"]\n";
}

}  // namespace

TEST_CASE("a negative regulator holds its output below ground", "[check][negative]") {
  const auto bench = verified(negative("12 V"));
  const auto& state = bench.verification.states[0];
  int out = 0;
  while (bench.circuit.nets[out].name != "out") ++out;
  // -5 V, changed by 2 V more input than 10 V and by 50 mA: 0.0056 * 2 V - 0.0669 ohm *
  // 50 mA (the type's figures); 1e-4 for the load's own part in that current.
  CHECK_THAT(state.nodal.net_volts[out],
             Catch::Matchers::WithinAbs(-(5.0 + 0.0112 - 0.0669 * 0.05), 1e-4));
  for (const auto& finding : state.findings) {
    CAPTURE(finding.check, finding.message);
    CHECK(finding.severity != Severity::fault);
    CHECK(finding.check.substr(0, 9) != "regulator");
  }
}

TEST_CASE("a negative regulator has the limits of a positive one",
          "[check][negative]") {
  const auto says = [](const std::string& text, const char* check) {
    const auto bench = verified(text);
    return find(bench.verification.states[0], check, "x") != nullptr;
  };
  CHECK_FALSE(says(negative("7.1 V"), "regulator-dropout"));  // 5 V and 2 V
  CHECK(says(negative("6.9 V"), "regulator-dropout"));
  CHECK_FALSE(says(negative("34.9 V"), "regulator-input"));
  CHECK(says(negative("35.1 V"), "regulator-input"));
  // Its supply the wrong way round: plus at in.
  std::string swapped = negative("12 V");
  const auto exchange = [&](const std::string& from, const std::string& to) {
    swapped.replace(swapped.find(from), from.size(), to);
  };
  exchange("v.minus", "v.other");
  exchange("v.plus", "v.minus");
  exchange("v.other", "v.plus");
  CHECK(says(swapped, "regulator-reverse"));
  // Less than its output capacitor: of a negative type a caution.
  std::string small = negative("12 V");
  small.replace(small.find("1 uF"), 4, "1 nF");
  const auto bench = verified(small);
  const auto* finding = find(bench.verification.states[0], kOut, "x");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::caution);
}
