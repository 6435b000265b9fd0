#include "tests/unit/check/bench.h"

using benchproof::Mark;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;

namespace {

/// A regulator of a type between two capacitors of which the values are given; empty:
/// there is none.
std::string regulated(const std::string& type, const std::string& in,
                      const std::string& out) {
  const auto part = [](const char* name, const std::string& value) {
    return value.empty() ? std::string()
                         : std::string(name) +
                               " = { kind = \"capacitor\", rated = \"50 V\", value = "
                               "\"" +
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
  const auto bare = verified(regulated("7805", "", ""));
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

  const auto whole = verified(regulated("7805", "0.33 uF", "0.1 uF"));
  CHECK(find(whole.verification.states[0], kIn) == nullptr);
  CHECK(find(whole.verification.states[0], kOut) == nullptr);
}

TEST_CASE("less capacitance than the sheet's matters to a low drop-out type only",
          "[check][structure]") {
  // LP2950: 2.2 uF in the typical circuit, TI SNVS764Q page 1, verified.
  const auto low = verified(regulated("LP2950-5.0", "0.1 uF", "2 uF"));
  const auto* strict = find(low.verification.states[0], kOut, "x");
  REQUIRE(strict != nullptr);
  CHECK(strict->severity == Severity::caution);
  CHECK(strict->limit == 2.2e-6);
  const auto enough = verified(regulated("LP2950-5.0", "0.1 uF", "2.2 uF"));
  CHECK(find(enough.verification.states[0], kOut) == nullptr);

  const auto classic = verified(regulated("7805", "0.1 uF", "47 nF"));
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
