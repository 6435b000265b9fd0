#include <algorithm>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstddef>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

// What people write who have never written a description: each mistake is one
// complaint, with all its places, and what is only usual is understood.

namespace {

using benchproof::Diagnostic;
using benchproof::known_types;
using benchproof::read_circuit;
using benchproof::ReadResult;
using Catch::Contains;

const std::string kNewLamp = R"([parts]
jack   = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
lamp_r = { kind = "resistor", value = "470R", power = "0.25 W" }
lamp   = { kind = "led", colour = "red", size = "5 mm" }

[nets]
inlet  = ["jack.plus", "lamp_r.a"]
lamp_n = ["lamp_r.b", "lamp.anode"]
ground = ["jack.minus", "lamp.cathode"]
)";

/// The lamp with texts in place of others, each wherever it stands.
std::string lamp_with(const std::vector<std::pair<std::string, std::string>>& changes) {
  std::string text = kNewLamp;
  for (const auto& [from, to] : changes) {
    REQUIRE(text.find(from) != std::string::npos);
    for (std::size_t at = text.find(from); at != std::string::npos;
         at = text.find(from, at + to.size()))
      text.replace(at, from.size(), to);
  }
  return text;
}

std::string told_of(const ReadResult& result, const std::string& text) {
  std::string all;
  for (const Diagnostic& d : result.diagnostics) all += to_text(d, "x.toml", text);
  return all;
}

/// The complaints about a text that has one mistake: one, with that id and hint.
void check_one(const std::string& text, const std::string& id, const std::string& hint,
               std::size_t places = 1) {
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  INFO(text << "\n" << told_of(result, text));
  REQUIRE(result.diagnostics.size() == 1);
  const Diagnostic& only = result.diagnostics.front();
  CHECK(only.id == id);
  CHECK_THAT(only.hint, Contains(hint));
  CHECK(only.also.size() + 1 == places);
}

void check_none(const std::string& text) {
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  INFO(text << "\n" << told_of(result, text));
  CHECK(result.diagnostics.empty());
}

/// Eight lamps with resistors; `led` describes each LED.
std::string eight(const std::string& led) {
  std::string parts =
      "[parts]\njack = { kind = \"dc-supply\", voltage = \"9V\", current = \"1A\" }\n";
  std::string nets;
  std::string inlet = "inlet = [\"jack.plus\"";
  std::string ground = "ground = [\"jack.minus\"";
  for (int k = 0; k < 8; ++k) {
    const std::string n = std::to_string(k);
    parts += "r" + n + " = { kind = \"resistor\", value = \"470R\" }\n";
    parts += "l" + n + " = { kind = \"led\", " + led + " }\n";
    nets += "n" + n + " = [\"r" + n + ".b\", \"l" + n + ".anode\"]\n";
    inlet += ", \"r" + n + ".a\"";
    ground += ", \"l" + n + ".cathode\"";
  }
  return parts + "[nets]\n" + inlet + "]\n" + nets + ground + "]\n";
}

}  // namespace

TEST_CASE("what is only written in a usual way is understood", "[circuit][newcomers]") {
  check_none(kNewLamp);
  check_none(lamp_with({{"9 V", "9v"}, {"500 mA", "500ma"}}));
  check_none(lamp_with({{"9 V", "9V DC"}, {"0.25 W", "1/4W"}}));
  check_none(lamp_with({{"470R", "470 Ohms"}}));
  check_none(lamp_with({{"5 mm", "5mm"}, {"\"red\"", "\"Red\""}}));
  check_none(lamp_with({{"\"red\"", "\"Warm White\""}}));
  check_none(eight("colour = \"red\", size = \"3mm\""));
  check_none(R"([parts]
jack = { kind = "dc-supply", voltage = "12V DC", current = "1A", regulated = true }
reg  = { kind = "regulator", type = "LM7805" }
load = { kind = "resistor", value = "470 ohm" }
[nets]
inlet  = ["jack.plus", "reg.in"]
rail   = ["reg.out", "load.a"]
ground = ["jack.minus", "load.b", "reg.common"]
)");
}

TEST_CASE("the catalogue's name stands for what was written", "[circuit][newcomers]") {
  const std::string text = lamp_with({{"5 mm", "5mm"}, {"\"red\"", "\"RED\""}});
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  REQUIRE(result.circuit);
  const benchproof::Part& lamp = benchproof::test::part(*result.circuit, "lamp");
  CHECK(std::get<std::string>(lamp.settings.at("size").value) == "5 mm");
  CHECK(std::get<std::string>(lamp.settings.at("colour").value) == "red");
  CHECK(lamp.type != nullptr);
}

TEST_CASE("a misspelt kind is one complaint", "[circuit][newcomers]") {
  check_none(lamp_with({{"\"led\"", "\"LED\""}}));
  check_one(lamp_with({{"\"led\"", "\"LED 5mm\""}}), "kind-unknown",
            "lamp: kind = \"led\"");
  for (const char* name : {"power supply", "Adapter", "wall_wart", "usb-charger"})
    check_none(lamp_with({{"dc-supply", name}}));
  check_one(lamp_with({{"\"resistor\"", "\"resistr\""}}), "kind-unknown", "'resistor'");
  check_one(lamp_with({{"\"resistor\"", "\"quux\""}}), "kind-unknown", "kinds:");
  check_one(lamp_with({{"kind = \"led\", ", ""}}), "key-missing", "kinds:");
  check_one(lamp_with({{"kind = \"led\"", "knid = \"led\""}}), "key-unknown", "'kind'");
  check_one(lamp_with({{"kind = \"led\"", "part = \"LED\""}}), "key-missing",
            "write kind = \"led\"");
}

TEST_CASE("what is copied from a shop's page is answered by what it holds",
          "[circuit][newcomers]") {
  check_one(lamp_with({{"\"470R\", power = \"0.25 W\"", "\"470 Ohm 1/4W\""}}),
            "value-malformed", "keys of their own");
  check_one(lamp_with({{"\"9 V\"", "\"9V DC 1A adapter\""}}), "value-malformed",
            "keys of their own");
  check_one(lamp_with({{"colour = \"red\", size = \"5 mm\"",
                        "type = \"LED 5mm warm white 3.2V 20mA\""}}),
            "type-unknown", "'warm white 5 mm'");
  check_one(lamp_with({{"\"red\"", "\"warm white 3.2V 20mA\""}}), "type-unknown",
            "'warm white'");
  check_one(lamp_with({{"size", "voltage"}, {"\"5 mm\"", "\"2.0V\""}}), "key-unknown",
            "comes with the colour");
}

TEST_CASE("a hint says what is to be written", "[circuit][newcomers]") {
  check_one(lamp_with({{"value = \"470R\", ", ""}}), "key-missing", "benchproof size");
  check_none(lamp_with({{"ground", "back"}}));
  const std::string path = R"([parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
load = { kind = "resistor", value = "470R" }
[paths]
it = ["jack.plus", "load", "jack.minus"]
)";
  check_none(path);
  check_one(lamp_with({{"\"jack.minus\", ", ""},
                       {"\"lamp.cathode\"", "\"lamp.cathode\", \"extra.b\""},
                       {"\"lamp_r.a\"", "\"lamp_r.a\", \"extra.a\""},
                       {"[nets]",
                        "extra = { kind = \"resistor\", value = \"1k\" }\n[nets]"}}),
            "pin-nowhere", "in a path \"ground\", \"jack.minus\"");
}

TEST_CASE("a name within a block is answered as it is written there",
          "[circuit][newcomers]") {
  check_one(R"([parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
one  = { block = "lamp" }
two  = { block = "lamp" }
[paths]
one = ["jack.plus", "rail", "one", "ground", "jack.minus"]
two = ["rail", "two", "ground"]
[blocks.lamp]
pins     = ["in", "out"]
parts.r  = { kind = "resistor", value = "470R" }
parts.d  = { kind = "led", colour = "red" }
paths.it = ["in", "rr", "d", "out"]
)",
            "path-word", "did you mean 'r'? names: r, d, ground, in, out");
}

TEST_CASE("a misspelt key is one complaint, in all its places",
          "[circuit][newcomers]") {
  check_none(eight("color = \"red\", diameter = \"3 mm\""));
  check_one(eight("colur = \"red\", size = \"3 mm\""), "key-unknown", "'colour'", 8);
  check_one(eight("colour = \"red\", size = \"4 mm\""), "type-unknown", "5 mm", 8);
  check_one(lamp_with({{"value", "vlaue"}}), "key-unknown", "'value'");
  check_none(lamp_with({{"value", "resistance"}}));
  check_none(lamp_with({{"voltage = \"9 V\"", "volts = 9"}}));
  check_one(lamp_with({{"[nets]", "[net]"}}), "key-unknown", "'nets'");
  check_one(lamp_with({{"[parts]", "[part]"}}), "key-unknown", "'parts'");
  check_one(kNewLamp + "[[expect]]\npart = \"lamp\"\ncurent = { min = \"3 mA\" }\n",
            "key-unknown", "'current'");
  check_one(kNewLamp + "[[expect]]\nprat = \"lamp\"\ncurrent = { min = \"3 mA\" }\n",
            "key-unknown", "'part'");
  check_one(
      kNewLamp + "[[expect]]\npart = \"lamp\"\ncurrent = { minimum = \"3 mA\" }\n",
      "key-unknown", "min");
}

TEST_CASE("what a misspelt key may mean is not missed as well",
          "[circuit][newcomers]") {
  const std::string battery = R"([parts]
b = { kind = "battery", voltage = "9V" }
r = { kind = "resistor", value = "470R" }
[nets]
a = ["b.plus", "r.a"]
ground = ["b.minus", "r.b"]
)";
  check_one(battery, "key-unknown", "needs 'chemistry' and 'size'");
  const std::string capacitor =
      lamp_with({{"[nets]",
                  "c = { kind = \"capacitor\", value = \"1uF\", polarized = "
                  "true }\n[nets]"},
                 {"\"lamp_r.a\"]", "\"lamp_r.a\", \"c.plus\"]"},
                 {"\"lamp.cathode\"]", "\"lamp.cathode\", \"c.minus\"]"}});
  check_none(capacitor);
  const std::string chip = R"([parts]
jack = { kind = "dc-supply", voltage = "5V", current = "500mA", regulated = true }
chip = { kind = "controller", output = ["led"] }
r = { kind = "resistor", value = "220R" }
[nets]
v = ["jack.plus", "chip.vdd"]
o = ["chip.led", "r.a"]
ground = ["jack.minus", "r.b", "chip.vss"]
[states.on]
"chip.led" = "high"
)";
  check_one(chip, "key-unknown", "'outputs'");
}

TEST_CASE("numbers without quotes and units are one complaint",
          "[circuit][newcomers]") {
  check_one(lamp_with({{"\"9 V\"", "9"},
                       {"\"500 mA\"", "0.5"},
                       {"\"470R\"", "470"},
                       {"\"0.25 W\"", "0.25"}}),
            "number-bare", "write a voltage", 4);
  check_one(lamp_with({{"\"470R\"", "\"470\""}, {"\"9 V\"", "\"9\""}}), "unit-missing",
            "write a resistance", 2);
  check_one(lamp_with({{"470R", "4,7k"}}), "value-comma", "decimal point");
  check_none(lamp_with({{"= true", "= \"yes\""}}));
  check_one(lamp_with({{"9 V", "230 VAC"}}), "unit-wrong", "this is for DC");
}

TEST_CASE("the usual names of pins are understood", "[circuit][newcomers]") {
  check_none(lamp_with({{"jack.plus", "jack.+"}, {"jack.minus", "jack.-"}}));
  check_none(lamp_with({{"jack.plus", "jack.VCC"}, {"jack.minus", "jack.GND"}}));
  check_none(lamp_with({{"jack.plus", "jack.red"}, {"jack.minus", "jack.black"}}));
  check_none(lamp_with({{"lamp.anode", "lamp.+"}, {"lamp.cathode", "lamp.-"}}));
  check_none(
      lamp_with({{"lamp.anode", "lamp.long leg"}, {"lamp.cathode", "lamp.short leg"}}));
  check_none(lamp_with({{"lamp_r.a", "lamp_r.1"}, {"lamp_r.b", "lamp_r.2"}}));
  check_none(
      lamp_with({{"\"lamp_r.a\"", "\"lamp_r\""}, {"\"lamp_r.b\"", "\"lamp_r\""}}));
  // What an LED's pins 1 and 2 are differs from maker to maker.
  check_one(lamp_with({{"lamp.anode", "lamp.1"}}), "pin-unknown", "pins:");
  check_one(lamp_with({{"lamp.anode", "lamp.anod"}}), "pin-unknown", "'anode'");
  check_one(lamp_with({{"lamp.anode", "lamp:anode"}}), "pin-malformed",
            "write \"lamp.anode\"");
  // Three names of two pins are one too many.
  const std::string three = lamp_with(
      {{"\"lamp_r.a\"", "\"lamp_r.1\", \"lamp_r.3\""}, {"lamp_r.b", "lamp_r.2"}});
  CHECK(!read_circuit(three, "x.toml", known_types()).circuit);
}

TEST_CASE("a part that is not alike both ways is told with the pin that fits",
          "[circuit][newcomers]") {
  const std::string bare = lamp_with({{"\"lamp_r.a\"", "\"lamp_r\""},
                                      {"\"lamp_r.b\"", "\"lamp_r\""},
                                      {"\"lamp.anode\"", "\"lamp\""},
                                      {"\"lamp.cathode\"", "\"lamp\""}});
  check_one(bare, "pin-malformed",
            "write in line 8 \"lamp.anode\", in line 9 \"lamp.cathode\"");
  // The same with the ground first: the hint goes by the sides, not by the order.
  const std::string turned = R"([parts]
jack   = { kind = "dc-supply", voltage = "9 V", current = "500 mA", regulated = true }
lamp_r = { kind = "resistor", value = "470R" }
lamp   = { kind = "led", colour = "red" }
[nets]
ground = ["jack.minus", "lamp"]
lamp_n = ["lamp_r.b", "lamp"]
inlet  = ["jack.plus", "lamp_r.a"]
)";
  check_one(turned, "pin-malformed",
            "write in line 6 \"lamp.cathode\", in line 7 \"lamp.anode\"");
}

TEST_CASE("the zero is taken where one place alone can be it", "[circuit][newcomers]") {
  for (const char* name :
       {"GND", "gnd", "Ground", "\"-\"", "\"0V\"", "VSS", "\"- rail\""})
    check_none(lamp_with({{"ground ", std::string(name) + " "}}));
  check_none(
      kNewLamp +
      "[[expect]]\nnet = \"inlet\"\nto = \"GND\"\nvoltage = { min = \"1 V\" }\n");
  check_one(lamp_with({{"\"lamp.cathode\"]", "\"lamp.cathode\", \"gnd\"]"}}),
            "part-unknown", "the net 'ground' is the zero here");
  check_one(lamp_with({{"\"lamp.cathode\"]", "\"lamp.cathode\", \"inlet\"]"}}),
            "part-unknown", "'inlet' is a net");
}

TEST_CASE("a path is a path wherever it stands, and has a way back",
          "[circuit][newcomers]") {
  const auto wired = [](const std::string& wiring) {
    return "[parts]\njack = { kind = \"dc-supply\", voltage = \"9 V\", current = "
           "\"500 mA\", regulated = true }\nkey = { kind = \"toggle-switch\" }\nr = { "
           "kind "
           "= \"resistor\", ohms = 470, watts = 0.25 }\nd = { kind = \"led\", color = "
           "\"red\" }\n" +
           wiring + "\n[states]\nday = { key = \"off\" }\nnight = { key = \"ON\" }\n";
  };
  check_none(wired(R"([paths]
it = ["jack.plus", "key", "r", "d", "GND", "jack.minus"])"));
  check_none(wired(R"([connections]
it = ["jack.plus", "key", "r", "d", "ground", "jack.minus"])"));
  check_one(wired(R"([nets]
it = ["jack.plus", "key", "r", "d", "ground", "jack.minus"])"),
            "path-word", "write [paths] in place of [nets]");
  check_one(wired(R"([paths]
it = ["jack.plus", "key", "r", "d"])"),
            "ground-missing", "\"ground\", \"jack.minus\"");
  check_one(wired(R"([paths]
it = ["jack", "key", "r", "d", "ground", "jack"])"),
            "pin-malformed", "\"jack.plus\" at its beginning", 2);
  check_none(wired(R"([nets]
"+ rail" = ["jack.+", "key.1"]
"row 12" = ["key.2", "r.1"]
"row 13" = ["r.2", "d.long"]
"- rail" = ["d.short", "jack.-"])"));
}

TEST_CASE("a shop's line in place of a kind is answered with all that it says",
          "[circuit][newcomers]") {
  check_one(lamp_with({{"kind = \"dc-supply\", voltage = \"9 V\", current = \"500 mA\"",
                        "kind = \"9V 1A USB power supply\""}}),
            "kind-unknown",
            "jack: kind = \"dc-supply\", voltage = \"9V\", current = \"1A\"");
  check_one(lamp_with({{"kind = \"led\", colour = \"red\", size = \"5 mm\"",
                        "kind = \"LED 5mm warm white\""}}),
            "kind-unknown",
            "lamp: kind = \"led\", size = \"5 mm\", colour = \"warm white\"");
}

TEST_CASE("a slip of a prefix is answered by the one that fits",
          "[circuit][newcomers]") {
  check_one(lamp_with({{"500 mA", "1 MA"}}), "value-range", "did you mean '1 mA'");
  check_one(lamp_with({{"0.25 W", "250 MW"}}), "value-range", "did you mean '250 mW'");
  check_one(lamp_with({{"9 V", "-9 V"}}), "value-range", "at most 60.0 V");
}

TEST_CASE("all mistakes of syntax come in one run, and what stands behind them",
          "[circuit][newcomers]") {
  const std::string text =
      lamp_with({{"\"9 V\"", "9 V"}, {"\"470R\"", "470R"}, {"\"red\"", "\"reed\""}});
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  INFO(told_of(result, text));
  REQUIRE(result.diagnostics.size() == 2);
  CHECK(result.diagnostics[0].id == "syntax");
  CHECK(result.diagnostics[0].also.size() == 1);
  CHECK(result.diagnostics[1].id == "type-unknown");
}

TEST_CASE("a misspelt part is one complaint", "[circuit][newcomers]") {
  check_one(lamp_with({{"lamp_r.", "lampr."}}), "part-unknown", "'lamp_r'", 2);
  check_one(lamp_with({{"lamp_r =", "lmap_r ="}}), "part-unknown", "'lmap_r'", 2);
}

TEST_CASE("a net that lost a pin is one complaint", "[circuit][newcomers]") {
  check_one(lamp_with({{", \"lamp_r.a\"", ""}}), "pin-nowhere", "net 'inlet'");
  check_one(lamp_with({{", \"lamp.anode\"]", "]\nlamp_m = [\"lamp.anode\"]"}}),
            "net-dangling", "", 2);
  check_one(lamp_with({{"[\"jack.plus\", \"lamp_r.a\"]", "\"jack.plus, lamp_r.a\""}}),
            "toml-type", "write a list");
}

TEST_CASE("an LED by a type that is a colour is told how to say so",
          "[circuit][newcomers]") {
  check_one(lamp_with({{"colour = \"red\", size = \"5 mm\"", "type = \"Red\""}}),
            "type-unknown", "colour = \"red\"");
}

TEST_CASE("two causes are two complaints", "[circuit][newcomers]") {
  const std::string text = lamp_with(
      {{"value", "vlaue"}, {"\"red\"", "\"reed\""}, {"jack.plus", "jack.pluss"}});
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  INFO(told_of(result, text));
  CHECK(result.diagnostics.size() == 3);
}

TEST_CASE("all places of a cause are told", "[circuit][newcomers]") {
  const std::string text = eight("colur = \"red\"");
  const ReadResult result = read_circuit(text, "x.toml", known_types());
  CHECK_THAT(told_of(result, text),
             Contains("  in 8 places: lines 4, 6, 8, 10, 12, 14, 16, 18\n"));
}

TEST_CASE("a pin of a path without its dot is read as meant", "[reader][newcomers]") {
  const auto lamp = [](const std::string& plus, const std::string& minus) {
    return "[parts]\njack = { kind = \"dc-supply\", voltage = \"9 V\", current = "
           "\"500 mA\", regulated = true }\nr = { kind = \"resistor\", value = "
           "\"470R\", power = \"0.25 W\" }\nd = { kind = \"led\", colour = \"red\" }\n"
           "[paths]\nlamp = [\"" +
           plus + "\", \"r\", \"d\", \"ground\", \"" + minus + "\"]\n";
  };
  check_none(lamp("jack.plus", "jack.minus"));
  check_one(lamp("jack +", "jack -"), "pin-malformed", "'jack.plus'", 2);
  check_one(lamp("jack.plus", "jack-"), "pin-malformed", "'jack.minus'");
  check_one(lamp("jack pos", "jack.minus"), "pin-malformed", "'jack.plus'");
}

TEST_CASE("a kind under another key, a name with a blank and an output that is on",
          "[reader][newcomers]") {
  check_none(lamp_with({{"kind = \"led\"", "type = \"light emitting diode\""}}));
  // A type of a kind is no kind.
  check_one(lamp_with({{"kind = \"led\"", "type = \"1N4148\""}}), "key-missing",
            "kind");
  const std::string chip =
      "[parts]\n\"wall plug\" = { kind = \"dc-supply\", voltage = \"5 V\", current = "
      "\"1 A\", regulated = true }\nchip = { kind = \"controller\", type = "
      "\"cmos-5v\", "
      "outputs = [\"fire\"] }\nr = { kind = \"resistor\", value = \"330R\", power = "
      "\"0.25 W\" }\nd = { kind = \"led\", colour = \"red\" }\n[paths]\nfeed = [\"wall "
      "plug.plus\", \"chip.vdd\"]\nback = [\"chip.vss\", \"ground\", \"wall "
      "plug.minus\"]\nfire = [\"chip.fire\", \"r\", \"d\", \"ground\"]\n"
      "[states.night]\nchip.fire = \"on\"\n[states.day]\n\"chip.fire\" = \"off\"\n";
  const ReadResult read = read_circuit(chip, "x.toml", known_types());
  INFO(told_of(read, chip));
  REQUIRE(read.circuit);
  REQUIRE(read.circuit->states.size() == 2);
  CHECK(read.circuit->states[0].outputs.begin()->second.level ==
        benchproof::OutputSetting::Level::high);
  CHECK(read.circuit->states[1].outputs.begin()->second.level ==
        benchproof::OutputSetting::Level::low);
  std::string apart = chip;
  apart.replace(apart.find("plug.plus"), 9, "plug +");
  check_one(apart, "pin-malformed", "'wall-plug.plus'");
}

TEST_CASE("a hole of a breadboard is no misspelt part", "[reader][newcomers]") {
  const auto told = [](const std::string& word) {
    const std::string text =
        "[parts]\njack = { kind = \"dc-supply\", voltage = \"9 V\", regulated = true "
        "}\n"
        "r = { kind = \"resistor\", value = \"470R\", power = \"0.25 W\" }\n"
        "wire1 = { kind = \"resistor\", value = \"1R\" }\n[paths]\nway = "
        "[\"jack.plus\", \"" +
        word + "\", \"r\", \"ground\", \"jack.minus\"]\n";
    return told_of(read_circuit(text, "x.toml", known_types()), text);
  };
  CHECK_THAT(told("a12"), !Contains("did you mean"));
  CHECK_THAT(told("w2"), Contains("did you mean 'wire1'?"));
  CHECK_THAT(told("jumper"), Contains("did you mean 'wire1'?"));
}

TEST_CASE("a text of any shape is read in good time", "[reader][newcomers]") {
  // Each took minutes where a step looks at the whole text, or all parts, once more for
  // each letter or part. The time is far above what is needed, for slow machines.
  const auto again = [](std::string_view piece, std::size_t times) {
    std::string text;
    for (std::size_t k = 0; k < times; ++k) text += piece;
    return text;
  };
  const auto chain = [](std::string_view part) {
    std::string parts = "[parts]\nb = { kind = \"dc-supply\", voltage = \"9 V\" }\n";
    std::string nets = "[nets]\nground = [\"b.minus\", \"p1000\"]\n";
    // In the order of their names the parts stand against the current.
    for (int k = 5999; k >= 1000; --k) {
      parts += "p" + std::to_string(k) + " = { " + std::string(part) + " }\n";
      nets += "n" + std::to_string(k) + " = [\"p" + std::to_string(k) + "\", \"" +
              (k == 5999 ? "b.plus" : "p" + std::to_string(k + 1)) + "\"]\n";
    }
    return parts + nets;
  };
  std::vector<std::string> texts = {
      "x = " + again("=a", 30'000) + "\"",
      "[parts]\nx = [" + again("\" \"" + std::string(20'000, ' '), 3) + "]\n",
      "[paths]\nx = [" + again("\"a\" ", 15'000) + "]\n",
      again("[t]\n", 10'000),
      again("= {\n", 10'000),
      chain("kind = \"resistor\", value = \"1k\""),
      chain("kind = \"led\", colour = \"red\""),
  };
  for (const char c : std::string_view("[]{}\"'=:,. +-a\n")) {
    texts.push_back(std::string(std::size_t{1} << 20, c));
    texts.push_back("[parts]\nx = " + std::string(60'000, c));
    texts.push_back(again(std::string(20, c) + "\n", 2'900));
  }
  for (const std::string& text : texts) {
    INFO(text.substr(0, 60));
    const auto begin = std::chrono::steady_clock::now();
    static_cast<void>(read_circuit(text, "x.toml", known_types()));
    CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(10));
  }
}
