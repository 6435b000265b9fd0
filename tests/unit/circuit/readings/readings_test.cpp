#include "core/circuit/readings/readings.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;
using Catch::Contains;
using Catch::Matchers::WithinAbs;

namespace {

const Circuit& lamp() {
  static const Circuit circuit = [] {
    const ReadResult read = read_circuit(R"(
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
quay_r = { kind = "resistor", value = "330R" }
quay   = { kind = "led", colour = "red" }
fan    = { kind = "motor", voltage = "5 V", current = "50 mA" }
[nets]
rail   = ["jack.plus", "chip.vdd", "bypass.a", "fan.a"]
ground = ["jack.minus", "chip.vss", "bypass.b", "quay.cathode", "fan.b"]
pin    = ["chip.quay", "quay_r.a"]
quay_l = ["quay_r.b", "quay.anode"]
[states.night]
"chip.quay" = "high"
[states.day]
)",
                                         "lamp.toml", known_types());
    REQUIRE(read.circuit.has_value());
    return *read.circuit;
  }();
  return circuit;
}

ReadingsFile understood(const std::string& text) {
  const ReadReadings read = read_readings(text, lamp());
  std::string told;
  for (const Diagnostic& d : read.diagnostics) told += to_text(d, "readings", text);
  INFO(told);
  REQUIRE(read.file.has_value());
  return *read.file;
}

Question volts_of(const std::string& net) {
  return {"night", true, {}, Asks::voltage, net, "", "", ""};
}

/// "LINE:COLUMN ID" of each complaint.
std::vector<std::string> told_of(const std::string& text) {
  std::vector<std::string> told;
  const ReadReadings read = read_readings(text, lamp());
  CHECK(read.file.has_value() == read.diagnostics.empty());
  for (const Diagnostic& d : read.diagnostics)
    told.push_back(std::to_string(d.span.begin.line) + ":" +
                   std::to_string(d.span.begin.column) + " " + d.id);
  return told;
}

std::string hint_of(const std::string& text) {
  const ReadReadings read = read_readings(text, lamp());
  REQUIRE(read.diagnostics.size() == 1);
  return read.diagnostics.front().hint;
}

}  // namespace

TEST_CASE("readings are read as they are written", "[readings]") {
  const ReadingsFile file = understood(R"(
circuit = "lamp.toml"
meter   = "handheld"
[[reading]]
state = "night"
net   = "rail"
voltage = "4.98 V"
[[reading]]
power = "off"
net = "rail"
resistance = "1.2 kohm"
out = ["chip"]
[[reading]]
state = "night"
part  = "quay"
looks = "too bright"
[[reading]]
power = "off"
net   = "quay_l"
to    = "pin"
diode = "open"
[[reading]]
state = "day"
part = "chip"
pin = "quay"
current = "-9.1 mA"
[[reading]]
state = "night"
part = "quay"
voltage = "1.9 V"
[[reading]]
state = "day"
net = "pin"
voltage = ""
reached = false
[[reading]]
state = "day"
net = "quay_l"
voltage = ""
[[reading]]
state = "day"
net = "rail"
reached = false
[[reading]]
power = "off"
net = "rail"
to = "pin"
reached = false
[[reading]]
state = "day"
part = "quay"
reached = false
)");
  CHECK(file.circuit == "lamp.toml");
  REQUIRE(file.meter.has_value());
  CHECK(file.meter->text == "handheld");
  REQUIRE(file.readings.size() == 10);  // What is not filled in is none.
  CHECK(file.readings[0].question == volts_of("rail"));
  CHECK_THAT(file.readings[0].value, WithinAbs(4.98, 1e-15));
  CHECK_THAT(file.readings[0].last_digit, WithinAbs(0.01, 1e-15));
  CHECK(file.readings[1].question ==
        Question{"", false, {"chip"}, Asks::resistance, "rail", "", "", ""});
  CHECK_THAT(file.readings[1].last_digit, WithinAbs(100.0, 1e-10));
  CHECK(file.readings[2].looks == Looks::too_bright);
  CHECK(file.readings[3].is_open);
  CHECK(file.readings[3].question.to == "pin");
  CHECK_THAT(file.readings[4].value, WithinAbs(-9.1e-3, 1e-15));
  CHECK(file.readings[4].question.pin == "quay");
  // What stands across a part is a difference of its nets; to ground is no difference.
  CHECK(file.readings[5].question == volts_of("quay_l"));
  CHECK_FALSE(file.readings[6].is_reached);
  // What cannot be reached need not say what would be read there.
  for (std::size_t k = 7; k < 10; ++k) CHECK_FALSE(file.readings[k].is_reached);
  CHECK(file.readings[7].question.asks == Asks::voltage);
  CHECK(file.readings[8].question.asks == Asks::resistance);
  CHECK(file.readings[8].question.to == "pin");
  CHECK(file.readings[9].question.asks == Asks::looks);
}

TEST_CASE("a readings file is written as it is read", "[readings]") {
  const std::string text = R"(circuit = "lamp.toml"
meter = { volts = "0.5% + 20 mV", input = "10 Mohm" }

[[reading]]
state = "night"
net = "rail"
voltage = "4.98 V"

[[reading]]
power = "off"
out = ["chip"]
net = "rail"
resistance = "1.20 kohm"

[[reading]]
power = "off"
net = "quay_l"
to = "pin"
diode = "open"

[[reading]]
state = "night"
part = "chip"
pin = "quay"
current = "-9.1 mA"

[[reading]]
state = "day"
part = "quay"
looks = "dark"

[[reading]]
state = "day"
net = "pin"
voltage = ""
reached = false
)";
  CHECK(readings_text(understood(text)) == text);
}

TEST_CASE("any value is written so that it reads back", "[readings]") {
  std::mt19937 random(20);
  std::uniform_real_distribution<double> magnitude(-7.0, 2.9);
  for (int k = 0; k < 2000; ++k) {
    TakenReading taken;
    taken.question = volts_of("rail");
    const double size = std::pow(10.0, magnitude(random));
    taken.last_digit = std::pow(10.0, std::floor(std::log10(size)) - k % 4);
    taken.value = std::round(size / taken.last_digit) * taken.last_digit;
    ReadingsFile file;
    file.readings = {taken};
    CAPTURE(readings_text(file), taken.value, taken.last_digit);
    const ReadingsFile back = understood(readings_text(file));
    // Half of the last digit written: what printing may take.
    CHECK_THAT(back.readings[0].value,
               WithinAbs(taken.value, 0.501 * taken.last_digit));
  }
}

TEST_CASE("the last digit of a figure", "[readings]") {
  CHECK_THAT(last_digit_of("4.98 V", Unit::volt), WithinAbs(0.01, 1e-15));
  CHECK_THAT(last_digit_of("12 V", Unit::volt), WithinAbs(1.0, 1e-15));
  CHECK_THAT(last_digit_of("0.00 V", Unit::volt), WithinAbs(0.01, 1e-15));
  CHECK_THAT(last_digit_of("4k7", Unit::ohm), WithinAbs(100.0, 1e-10));
  CHECK_THAT(last_digit_of("1.2e3 ohm", Unit::ohm), WithinAbs(100.0, 1e-10));
  CHECK_THAT(last_digit_of("-350 mV", Unit::volt), WithinAbs(1e-3, 1e-15));
  CHECK(last_digit_of("dark", Unit::volt) == 0.0);
}

TEST_CASE("all that is wrong with readings is told at once", "[readings]") {
  CHECK(told_of(R"([[reading]]
stat = "night"
net = "raill"
voltage = "4,98 V"
[[reading]]
state = "nigth"
net = "rail"
voltage = 5
[[reading]]
power = "of"
part = "quai"
looks = "dark"
state = "night"
[[reading]]
net = "rail"
state = "night"
)") == std::vector<std::string>{"2:1 key-unknown", "3:7 net-unknown",
                                "4:13 value-comma", "6:9 state-unknown",
                                "8:11 number-bare", "10:9 word-unknown",
                                "11:8 part-unknown", "14:1 key-missing"});
}

TEST_CASE("what a reading cannot mean is told with what it may", "[readings]") {
  CHECK_THAT(
      hint_of("[[reading]]\nstate = \"night\"\nnet = \"rial\"\nvoltage = \"5 V\"\n"),
      Contains("did you mean 'rail'?"));
  CHECK_THAT(
      hint_of(
          "[[reading]]\nstate = \"night\"\nnet = \"rail\"\nresistance = \"5 ohm\"\n"),
      Contains("power = \"off\""));
  CHECK_THAT(hint_of("[[reading]]\nnet = \"rail\"\nvoltage = \"5 V\"\n"),
             Contains("night, day"));
  CHECK_THAT(
      hint_of("[[reading]]\nstate = \"day\"\npart = \"fan\"\nlooks = \"dark\"\n"),
      Contains("still, runs"));
  CHECK_THAT(
      hint_of("[[reading]]\nstate = \"day\"\npart = \"quay\"\nlooks = \"darl\"\n"),
      Contains("did you mean 'dark'?"));
  CHECK_THAT(
      hint_of("[[reading]]\npower = \"off\"\nnet = \"rail\"\nresistance = \"OL\"\n"),
      Contains("\"open\""));
  CHECK_THAT(
      hint_of("[[reading]]\nstate = \"day\"\npart = \"chip\"\ncurrent = \"1 mA\"\n"),
      Contains("vdd, vss, quay"));
  CHECK_THAT(
      hint_of("[[reading]]\nstate = \"day\"\nnet = \"GND\"\nvoltage = \"0 V\"\n"),
      Contains("'ground' is the zero"));
}

TEST_CASE("other words for what a reading says are told what they mean", "[readings]") {
  const std::string on = "[[reading]]\nstate = \"night\"\n";
  for (const auto& [word, meant] : std::vector<std::pair<std::string, std::string>>{
           {"volts", "voltage"}, {"V", "voltage"}, {"Volt", "voltage"}}) {
    CAPTURE(word);
    CHECK_THAT(hint_of(on + "net = \"rail\"\n" + word + " = \"5 V\"\n"),
               Contains("did you mean '" + meant + "'?"));
  }
  for (const std::string at : {"at", "point", "from", "red lead", "place"}) {
    CAPTURE(at);
    CHECK_THAT(hint_of(on + '"' + at + "\" = \"rail\"\nvoltage = \"5 V\"\n"),
               Contains("did you mean 'net'?"));
  }
  const std::string off = "[[reading]]\npower = \"off\"\n";
  CHECK_THAT(hint_of(off + "net = \"rail\"\nohms = \"330 ohm\"\n"),
             Contains("did you mean 'resistance'?"));
  CHECK_THAT(hint_of(on + "part = \"quay\"\nseen = \"dark\"\n"),
             Contains("did you mean 'looks'?"));
}

TEST_CASE("a bare off is told its quotes", "[readings]") {
  CHECK_THAT(hint_of("[[reading]]\npower = off\nnet = \"rail\"\n"),
             Contains("\"off\" stands in quotes"));
}

TEST_CASE("a pin where a net is wanted is told its net", "[readings]") {
  const std::string on = "[[reading]]\nstate = \"night\"\nvoltage = \"2 V\"\n";
  CHECK(hint_of(on + "net = \"quay.anode\"\n") == "quay.anode is on the net 'quay_l'");
  CHECK(hint_of(on + "net = \"quay.+\"\n") == "quay.anode is on the net 'quay_l'");
  CHECK(hint_of(on + "net = \"quay_r\"\n") ==
        "quay_r.a is on the net 'pin', quay_r.b is on the net 'quay_l'");
  CHECK(hint_of(on + "part = \"quay_r\"\npin = \"b\"\n") ==
        "quay_r.b is on the net 'quay_l'");
}

TEST_CASE("readings that mean nothing are refused", "[readings]") {
  const std::string head = "[[reading]]\nstate = \"day\"\n";
  CHECK(told_of(head + "net = \"rail\"\nto = \"rail\"\nvoltage = \"5 V\"\n") ==
        std::vector<std::string>{"4:6 expect-meaning"});
  CHECK(told_of(head + "net = \"rail\"\npart = \"quay\"\nvoltage = \"5 V\"\n") ==
        std::vector<std::string>{"4:1 key-conflict"});
  CHECK(told_of(head + "net = \"rail\"\nvoltage = \"5 V\"\ncurrent = \"1 A\"\n") ==
        std::vector<std::string>{"5:1 key-conflict"});
  CHECK(told_of(head + "net = \"rail\"\nvoltage = \"5000 V\"\n") ==
        std::vector<std::string>{"4:11 value-range"});
  CHECK(told_of(head + "part = \"chip\"\nvoltage = \"5 V\"\n") ==
        std::vector<std::string>{"3:8 expect-meaning"});
  CHECK(told_of("[[reading]]\npower = \"off\"\nnet = \"rail\"\nvoltage = \"5 V\"\n") ==
        std::vector<std::string>{"4:1 expect-meaning"});
  CHECK(
      told_of(
          "[[reading]]\npower = \"off\"\nnet = \"rail\"\nresistance = \"-5 ohm\"\n") ==
      std::vector<std::string>{"4:14 value-range"});
  CHECK(told_of("reading = 5\n") == std::vector<std::string>{"1:11 toml-type"});
  CHECK(told_of("[[reading]]\nstate = \"day\n").size() == 1);
}

TEST_CASE("a description in place of readings is told, and the other way round",
          "[readings]") {
  CHECK(told_of("[parts]\nr = { kind = \"resistor\", value = \"1k\" }\n") ==
        std::vector<std::string>{"1:2 other-file"});
  const ReadResult read =
      read_circuit("[[reading]]\nnet = \"rail\"\n", "r.toml", known_types());
  REQUIRE(read.diagnostics.size() == 1);
  CHECK(read.diagnostics.front().id == "other-file");
}

TEST_CASE("a value that is typed is read like one in a file", "[readings]") {
  TakenReading taken;
  taken.question.asks = Asks::resistance;
  CHECK(put_value(taken, "1k2").empty());
  CHECK_THAT(taken.value, WithinAbs(1200.0, 1e-9));
  CHECK(put_value(taken, "OL").empty());
  CHECK(taken.is_open);
  CHECK_THAT(put_value(taken, "12 V"), Contains("ohm"));
  CHECK_FALSE(put_value(taken, "").empty());
  CHECK_FALSE(put_value(taken, "1,2 kohm").empty());
  CHECK(taken.is_open);  // As it was.
}

TEST_CASE("no text of readings is too odd", "[readings]") {
  const std::string text =
      "circuit = \"lamp.toml\"\n[[reading]]\nstate = \"night\"\nnet = \"rail\"\n"
      "voltage = \"4.98 V\"\n[[reading]]\npower = \"off\"\nnet = \"rail\"\nout = "
      "[\"chip\"]\nresistance = \"open\"\n";
  std::mt19937 random(7);
  for (int k = 0; k < 3000; ++k) {
    std::string odd = text;
    for (int n = 0; n < 1 + k % 4; ++n) {
      const std::size_t at = random() % odd.size();
      switch (random() % 3) {
        case 0:
          odd[at] = static_cast<char>(random() % 128);
          break;
        case 1:
          odd.erase(at, 1 + random() % 9);
          break;
        default:
          odd.insert(at, odd.substr(random() % odd.size(), random() % 20));
      }
    }
    const ReadReadings read = read_readings(odd, lamp());
    REQUIRE(read.file.has_value() == read.diagnostics.empty());
  }
}
