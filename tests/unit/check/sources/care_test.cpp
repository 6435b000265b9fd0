#include <string>

#include "tests/unit/check/bench.h"

using benchproof::Finding;
using benchproof::Mark;
using benchproof::Severity;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

/// What a check says of 'x' in a circuit: nothing, or its severity's word and message.
std::string said(const std::string& text, std::string_view check) {
  const auto bench = verified(text);
  const Finding* finding = find(bench.verification.states[0], check, "x");
  if (finding == nullptr) return "";
  return (finding->severity == Severity::fault     ? "fault: "
          : finding->severity == Severity::caution ? "caution: "
                                                   : "note: ") +
         finding->message;
}

std::string battery(const char* keys, const char* amps) {
  return std::string("[parts]\nx = { kind = \"battery\", ") + keys +
         " }\ni = { kind = \"current-source\", current = \"" + amps +
         "\" }\n[nets]\nhot = [\"x.plus\", \"i.minus\"]\n"
         "ground = [\"x.minus\", \"i.plus\"]\n";
}

constexpr const char* kAlkaline = R"(chemistry = "alkaline", size = "AA")";

}  // namespace

// Capacity of an alkaline AA: 2.85 Ah under a light load of 25 mA (Duracell OEM tables,
// verified), 2.5 Ah at 100 mA (from memory).
TEST_CASE("a battery's life is its capacity over its current", "[check][battery]") {
  // Between the two points straight in logarithms: 2.512 Ah / 95 mA = 26.4 h; half of
  // it is left of a half spent one.
  CHECK_THAT(said(battery(kAlkaline, "95 mA"), "battery-life"),
             Catch::StartsWith("note: 'x' lasts about 26 hours: 2.51 Ah"));
  CHECK_THAT(
      said(battery(R"(chemistry = "alkaline", size = "AA", charge = "half")", "95 mA"),
           "battery-life"),
      Catch::Contains("about 13 hours"));
  // Cells in series carry the same current: no longer, no shorter.
  CHECK_THAT(said(battery(R"(chemistry = "alkaline", size = "AA", cells = 4)", "95 mA"),
                  "battery-life"),
             Catch::Contains("about 26 hours"));
  // A capacity that the description tells holds at any load: 2.85 Ah / 95 mA = 30 h.
  CHECK_THAT(
      said(battery(R"(chemistry = "alkaline", size = "AA", capacity = "2.85 Ah")",
                   "95 mA"),
           "battery-life"),
      Catch::Contains("about 30 hours"));
  // 225 mAh / 0.2 mA = 1125 h (CR2032, Wikipedia, verified).
  CHECK_THAT(said(battery(R"(chemistry = "lithium", size = "CR2032")", "0.2 mA"),
                  "battery-life"),
             Catch::Contains("about 47 days"));
  CHECK(said(battery(kAlkaline, "0.5 uA"), "battery-life").empty());
}

// Common practice, no source: an alkaline cell gives a fifth of its capacity in an
// hour.
TEST_CASE("a battery past its practical rate gets a caution", "[check][battery]") {
  CHECK(said(battery(kAlkaline, "569 mA"), "battery-current").empty());
  CHECK_THAT(said(battery(kAlkaline, "571 mA"), "battery-current"),
             Catch::StartsWith("caution: ") && Catch::Contains("570 mA"));
}

// 1.6 V (memory) less 0.15 ohm (verified) times the current reach 0.9 V (memory) at
// 4.667 A.
TEST_CASE("a battery that sags below its cut-off counts as empty", "[check][battery]") {
  CHECK(said(battery(kAlkaline, "4.6 A"), "battery-empty").empty());
  CHECK_THAT(said(battery(kAlkaline, "4.7 A"), "battery-empty"),
             Catch::StartsWith("caution: ") && Catch::Contains("900 mV"));
  CHECK(said(battery(R"(chemistry = "alkaline", size = "AA", cells = 4)", "4.6 A"),
             "battery-empty")
            .empty());
}

namespace {

std::string wired(const char* gauge, const char* amps) {
  return std::string("[parts]\ni = { kind = \"current-source\", current = \"") + amps +
         "\" }\nx = { kind = \"wire\", length = \"0.1 m\", gauge = \"" + gauge +
         "\" }\n[nets]\nhot = [\"i.plus\", \"x.a\"]\nground = [\"i.minus\", \"x.b\"]\n";
}

}  // namespace

// Handbook of Electronic Tables and Formulas, chassis wiring (verified for these).
TEST_CASE("a wire carries what its thickness bears", "[check][wire]") {
  CHECK(said(wired("AWG 24", "3.49 A"), "wire-current").empty());
  CHECK_THAT(said(wired("AWG 24", "3.51 A"), "wire-current"),
             Catch::StartsWith("caution: "));
  CHECK_THAT(said(wired("AWG 24", "7.1 A"), "wire-current"),
             Catch::StartsWith("fault: "));
  CHECK(said(wired("AWG 30", "0.85 A"), "wire-current").empty());
  CHECK_FALSE(said(wired("AWG 30", "0.87 A"), "wire-current").empty());
  // Between two sizes the thinner one counts: 0.25 mm2 are more than AWG 24.
  CHECK_FALSE(said(wired("0.25 mm2", "3.51 A"), "wire-current").empty());
  CHECK(said(wired("0.25 mm2", "3.49 A"), "wire-current").empty());
  // The table ends at AWG 16.
  CHECK(said(wired("4 mm2", "100 A"), "wire-current").empty());
  // Below AWG 32 by Preece's d^1.5: AWG 40 has 0.396 of its diameter (0.0799 mm of
  // 0.2019 mm), so 0.249 of its 0.53 A: 0.132 A.
  CHECK(said(wired("AWG 40", "0.131 A"), "wire-current").empty());
  CHECK_THAT(said(wired("AWG 40", "0.133 A"), "wire-current"),
             Catch::StartsWith("caution: "));
  CHECK_THAT(said(wired("AWG 40", "1.94 A"), "wire-current"),
             Catch::StartsWith("fault: "));
}

// AWG 30 has 338.5 ohm/km (published): of 5 V over 10 ohm it takes 3 % at 0.914 m and
// 10 % at 3.28 m. The shares are common practice, no source.
TEST_CASE("a wire that takes much of the supply is told", "[check][wire]") {
  const auto drop = [](const char* length) {
    return said(
        std::string("[parts]\nv = { kind = \"voltage-source\", voltage = \"5 "
                    "V\" }\nr = { kind = \"resistor\", value = \"10R\", power = "
                    "\"5 W\" }\nx = { kind = \"wire\", gauge = \"AWG 30\", "
                    "length = \"") +
            length +
            "\" }\n[nets]\nin = [\"v.plus\", \"x.a\"]\nend = [\"x.b\", "
            "\"r.a\"]\nground = [\"v.minus\", \"r.b\"]\n",
        "wire-drop");
  };
  CHECK(drop("0.88 m").empty());
  CHECK_THAT(drop("0.95 m"), Catch::StartsWith("note: "));
  CHECK_THAT(drop("3.1 m"), Catch::StartsWith("note: "));
  CHECK_THAT(drop("3.4 m"), Catch::StartsWith("caution: "));
}

namespace {

std::string electrolytic(const char* ambient, const char* keys = "") {
  return std::string("ambient = \"") + ambient +
         "\"\n[parts]\nv = { kind = \"voltage-source\", voltage = \"5 V\" }\n"
         "x = { kind = \"capacitor\", value = \"100 uF\", rated = \"16 V\", polarised "
         "= true" +
         keys +
         " }\n[nets]\nin = [\"v.plus\", \"x.plus\"]\nground = [\"v.minus\", "
         "\"x.minus\"]\n";
}

}  // namespace

// Twice the life for 10 C less, 2000 h at 85 C: common practice, no source. Three years
// at 47.8 C, one at 63.7 C.
TEST_CASE("an electrolytic's life halves with each 10 C", "[check][capacitor]") {
  CHECK(said(electrolytic("25 C"), "capacitor-life").empty());
  CHECK(said(electrolytic("47 C"), "capacitor-life").empty());
  CHECK_THAT(said(electrolytic("49 C"), "capacitor-life"), Catch::StartsWith("note: "));
  CHECK_THAT(said(electrolytic("63 C"), "capacitor-life"), Catch::StartsWith("note: "));
  CHECK_THAT(said(electrolytic("65 C"), "capacitor-life"),
             Catch::StartsWith("caution: "));
  // Panasonic FA series: 2000 h to 5000 h at 105 C (verified).
  constexpr const char* kLong = R"(, endurance = 5000, endurance_at = "105 C")";
  CHECK(said(electrolytic("65 C", kLong), "capacitor-life").empty());
  CHECK_THAT(said(electrolytic("106 C", kLong), "capacitor-life"),
             Catch::StartsWith("caution: ") && Catch::Contains("not made for"));
}

// NASA EEE-INST-002 as remembered: half of a diode's current.
TEST_CASE("a part worked harder than long-lived equipment gets a note",
          "[check][derating]") {
  const auto diode = [](const char* amps) {
    return said(std::string("[parts]\ni = { kind = \"current-source\", current = \"") +
                    amps +
                    "\" }\nx = { kind = \"diode\", type = \"1N4001\" }\n[nets]\nhot = "
                    "[\"i.plus\", \"x.anode\"]\nground = [\"i.minus\", "
                    "\"x.cathode\"]\n",
                "derating");
  };
  CHECK(diode("0.49 A").empty());
  CHECK_THAT(diode("0.51 A"), Catch::StartsWith("note: 'x' uses 51 % of its current"));
  CHECK(diode("1.1 A").empty());  // That is a fault, told once.
}
