#include "core/circuit/read/reader.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include "core/circuit/structure_check.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;
using benchproof::test::part;
using Catch::Contains;
using Catch::Matchers::WithinAbs;
using Level = OutputSetting::Level;

namespace {

ReadResult read(const std::string& text, const std::vector<Change>& changes = {}) {
  return read_circuit(text, "some.toml", known_types(), {.changes = changes});
}

Circuit read_good(const std::string& text, const std::vector<Change>& changes = {}) {
  ReadResult result = read(text, changes);
  std::string told;
  for (const Diagnostic& diagnostic : result.diagnostics)
    told += to_text(diagnostic, "some.toml", text);
  INFO(told);
  REQUIRE(result.diagnostics.empty());
  REQUIRE(result.circuit.has_value());
  return *result.circuit;
}

std::vector<std::string> ids(const ReadResult& result) {
  std::vector<std::string> list;
  for (const Diagnostic& diagnostic : result.diagnostics) list.push_back(diagnostic.id);
  return list;
}

const std::string kHarbour = R"(title   = "Harbour light, für die Mole"
ambient = "30 °C"

[parts]
jack   = { kind = "dc-supply", voltage = "12 V", current = "500 mA" }
guard  = { kind = "diode", type = "1N5819" }
bulk   = { kind = "capacitor", value = "220uF", rated = "25 V", polarised = true }
reg    = { kind = "regulator", type = "7805" }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["quay", "buoy"], inputs = ["key"] }
quay_r = { kind = "resistor", value = "330R", tolerance = "5%", power = "0.25 W", label = "next to the chip" }
quay   = { kind = "led", colour = "warm white" }
door   = { kind = "switch" }

[nets]
inlet  = ["jack.plus", "guard.anode"]
raw    = ["guard.cathode", "bulk.plus", "reg.in"]
rail   = ["reg.out", "chip.vdd", "door.a"]
ground = ["jack.minus", "bulk.minus", "reg.common", "chip.vss", "quay.cathode"]
quay_p = ["chip.quay", "quay_r.a"]
quay_l = ["quay_r.b", "quay.anode"]
key    = ["chip.key", "door.b"]
open   = ["chip.buoy"]

[states.night]
"chip.quay" = "high"
chip.buoy = { pwm = "30%", frequency = "500 Hz" }
door = "closed"

[states.day]
"jack.voltage" = "9 V"
steady = false

[states.idle]
"chip.quay" = "open"
quay_r = { value = "1k", power = "0.5 W" }

[[expect]]
state = "night"
net = "rail"
to = "inlet"
voltage = { nominal = "-5 V", within = "4%" }
source = "a sheet"
mark = "verified"
why = "half of it"

[[expect]]
part = "quay"
current = { min = "6 mA" }
phase = "off"

[[expect]]
net = "rail"
to = "ground"
voltage = { nominal = "5 V", within = "10 mV" }

[[expect]]
part = "chip"
pin = "vdd"
current = { max = "12 mA" }

[[expect]]
part = "reg"
temperature = { max = "125 C" }
)";

/// A small circuit with lines of one's own.
std::string small(const std::string& parts, const std::string& rail = "",
                  const std::string& ground = "", const std::string& rest = "") {
  return "[parts]\nfeed = { kind = \"dc-supply\", voltage = \"5 V\" }\n"
         "load = { kind = \"resistor\", value = \"1k\" }\n" +
         parts + "\n[nets]\nrail = [\"feed.plus\", \"load.a\"" + rail +
         "]\nground = [\"feed.minus\", \"load.b\"" + ground + "]\n" + rest;
}

}  // namespace

TEST_CASE("a description becomes parts, nets, states and expectations", "[reader]") {
  const Circuit circuit = read_good(kHarbour);
  CHECK(circuit.title == "Harbour light, f\u00FCr die Mole");
  CHECK(circuit.ambient == 30.0);

  REQUIRE(circuit.parts.size() == 8);
  CHECK(circuit.parts[0].name == "jack");
  CHECK(circuit.parts[7].name == "door");
  CHECK(part(circuit, "bulk").pins == std::vector<std::string>{"plus", "minus"});
  CHECK(part(circuit, "chip").pins ==
        std::vector<std::string>{"vdd", "vss", "quay", "buoy", "key"});
  CHECK(part(circuit, "quay_r").label == "next to the chip");
  CHECK(figure(part(circuit, "quay_r"), "value")->value == 330.0);
  CHECK(figure(part(circuit, "quay_r"), "tolerance")->value == 0.05);
  CHECK(figure(part(circuit, "quay_r"), "power")->mark == Mark::given);
  REQUIRE(part(circuit, "guard").type != nullptr);
  CHECK(part(circuit, "guard").type->name == "1N5819");
  REQUIRE(part(circuit, "quay").type != nullptr);
  CHECK(part(circuit, "quay").type->words.at("colour") == "warm white");

  REQUIRE(circuit.nets.size() == 7);
  CHECK(circuit.nets[0].name == "ground");
  CHECK(circuit.nets[1].name == "inlet");
  CHECK(circuit.nets[2].name == "raw");
  CHECK(circuit.nets[6].name == "key");
  CHECK(circuit.nets[1].pins == std::vector<PinRef>{{0, 0}, {1, 0}});
  CHECK(part(circuit, "chip").nets == std::vector<int>{3, 0, 4, -1, 6});
  for (std::size_t net = 0; net < circuit.nets.size(); ++net)
    for (const PinRef pin : circuit.nets[net].pins)
      CHECK(circuit.parts[static_cast<std::size_t>(pin.part)]
                .nets[static_cast<std::size_t>(pin.pin)] == static_cast<int>(net));
}

TEST_CASE("states hold outputs, switches and changed values", "[reader]") {
  const Circuit circuit = read_good(kHarbour);
  REQUIRE(circuit.states.size() == 3);
  const State& night = circuit.states[0];
  CHECK(night.name == "night");
  CHECK(night.steady);
  CHECK(output(night, {4, 2}).level == Level::high);
  CHECK(output(night, {4, 3}).level == Level::pwm);
  CHECK(output(night, {4, 3}).duty == 0.3);
  CHECK(output(night, {4, 3}).hertz == 500.0);
  CHECK(night.closed.at(7));
  const State& day = circuit.states[1];
  CHECK_FALSE(day.steady);
  CHECK(day.closed.empty());
  CHECK(std::get<double>(day.settings.at({0, "voltage"}).value) == 9.0);
  const State& idle = circuit.states[2];
  CHECK(output(idle, {4, 2}).level == Level::open);
  CHECK(std::get<double>(idle.settings.at({5, "value"}).value) == 1000.0);
  CHECK(std::get<double>(idle.settings.at({5, "power"}).value) == 0.5);
}

TEST_CASE("a key that is called like a pin can be set", "[reader]") {
  const Circuit circuit = read_good(
      small(R"(low = { kind = "mosfet", type = "2N7000" })", ", \"low.drain\"",
            ", \"low.source\"",
            "open = [\"low.gate\"]\n[states.hot]\n\"low.gate\" = \"15 V\"\n"));
  CHECK(std::get<double>(circuit.states[0].settings.at({2, "gate"}).value) == 15.0);
}

TEST_CASE("expectations become bounds", "[reader]") {
  const Circuit circuit = read_good(kHarbour);
  REQUIRE(circuit.expectations.size() == 5);
  const Expectation& difference = circuit.expectations[0];
  CHECK(difference.state == "night");
  CHECK(difference.net == 3);
  CHECK(difference.to == 1);
  CHECK(difference.part == -1);
  CHECK(difference.quantity == Quantity::voltage);
  CHECK(difference.nominal == -5.0);
  // 4 % of 5 V either way; one rounding of the product and one of the sum.
  CHECK_THAT(*difference.least, WithinAbs(-5.2, 1e-15));
  CHECK_THAT(*difference.most, WithinAbs(-4.8, 1e-15));
  CHECK(difference.source == "a sheet");
  CHECK(difference.mark == "verified");
  CHECK(difference.why == "half of it");
  const Expectation& lamp = circuit.expectations[1];
  CHECK(lamp.state.empty());
  CHECK(lamp.part == 6);
  CHECK(lamp.pin == -1);
  CHECK(lamp.quantity == Quantity::current);
  CHECK(lamp.least == 0.006);
  CHECK_FALSE(lamp.most.has_value());
  CHECK_FALSE(lamp.nominal.has_value());
  CHECK(lamp.phase == Expectation::Phase::off);
  CHECK(circuit.expectations[2].to == -1);
  CHECK(circuit.expectations[2].least == 5.0 - 0.01);
  CHECK(circuit.expectations[2].phase == Expectation::Phase::average);
  CHECK(circuit.expectations[3].pin == 0);
  CHECK(circuit.expectations[3].most == 0.012);
  CHECK(circuit.expectations[4].quantity == Quantity::temperature);
  CHECK(circuit.expectations[4].most == 125.0);
}

TEST_CASE("what a description leaves out", "[reader]") {
  const Circuit circuit = read_good(small(""));
  CHECK(circuit.title == "some.toml");
  CHECK(circuit.ambient == 25.0);
  REQUIRE(circuit.states.size() == 1);
  CHECK(circuit.states[0].name == "steady");
  CHECK(circuit.states[0].steady);
  CHECK(circuit.expectations.empty());
  CHECK(read_good(small("") + "[states]\n").states.size() == 1);
}

TEST_CASE("spans point at the text", "[reader]") {
  const Circuit circuit = read_good(kHarbour);
  const Part& resistor = part(circuit, "quay_r");
  CHECK(resistor.span == Span{{10, 1}, {10, 7}});
  const std::string line = kHarbour.substr(kHarbour.find("quay_r = "));
  const int column = static_cast<int>(line.find("\"330R\"")) + 1;
  CHECK(resistor.settings.at("value").span == Span{{10, column}, {10, column + 6}});
  CHECK(circuit.nets[0].span == Span{{18, 1}, {18, 7}});
  CHECK(circuit.states[0].span == Span{{24, 9}, {24, 14}});
  CHECK(circuit.expectations[0].span.begin.line == 37);
}

TEST_CASE("columns count bytes behind letters of any size", "[reader]") {
  const std::string text = small(
      "more = { label = \"\u00E4\u20AC\U0001F4A1\", kind = "
      "\"resistor\", value = \"4,7k\" }");
  const ReadResult result = read(text);
  REQUIRE(ids(result) == std::vector<std::string>{"pin-nowhere", "value-comma"});
  const auto wanted = text.substr(text.find("more")).find("4,7k") + 2;  // the comma
  CHECK(result.diagnostics[1].span.begin.line == 4);
  CHECK(result.diagnostics[1].span.begin.column == static_cast<int>(wanted));
}

TEST_CASE("line ends and a byte order mark do not matter", "[reader]") {
  std::string crlf = "\uFEFF";
  for (const char c : kHarbour) {
    if (c == '\n') crlf += '\r';
    crlf += c;
  }
  const Circuit circuit = read_good(crlf);
  CHECK(circuit.parts.size() == 8);
  CHECK(part(circuit, "quay_r").span == Span{{10, 1}, {10, 7}});
  const ReadResult bad = read("\uFEFFtitel = 1\r\n" + small(""));
  REQUIRE(ids(bad) == std::vector<std::string>{"key-unknown"});
  CHECK(bad.diagnostics[0].span == Span{{1, 1}, {1, 6}});
}

TEST_CASE("models are read by the trade's names", "[reader]") {
  const Circuit circuit = read_good(small(
      "d1 = { kind = \"diode\", model = { is = 2e-14, n = 1.5, rs = 0.1, bv = 50, "
      "ibv = 1e-4, nbv = 1.2, eg = 0.69, xti = 2, tnom = 25, cjo = 4e-12, tt = 5e-9 } "
      "}\n"
      "q1 = { kind = \"transistor\", polarity = \"pnp\", model = { is = 1e-15, bf = "
      "150, "
      "br = 2, nf = 1.1, nr = 1.2, vaf = 80, ikf = 0.2, rc = 1.5, eg = 1.2, xti = 4, "
      "tnom = 20, cje = "
      "8e-12, "
      "cjc = 4e-12, tf = 1e-9, tr = 1e-7 } }\n"
      "q2 = { kind = \"transistor\", polarity = \"npn\", model = { bf = 99 } }\n"
      "m1 = { kind = \"mosfet\", channel = \"p\", body = true, model = { vto = -2, kp "
      "= 0.5, "
      "lambda = 0.01, rd = 0.2, rs = 0.3, tnom = 30, cgs = 45e-12, cgd = 5e-12, "
      "cds = 20e-12 } }\n"
      "m2 = { kind = \"mosfet\", channel = \"n\", model = {} }\n",
      R"(, "d1.cathode", "q1.collector", "q2.collector", "m1.drain", "m2.drain")",
      R"(, "d1.anode", "q1.emitter", "q2.emitter", "m1.source", "m2.source")",
      R"(open = ["q1.base", "q2.base", "m1.gate", "m2.gate"])"));
  const auto model = [&circuit](const std::string& name) {
    return std::get<DeviceModel>(part(circuit, name).settings.at("model").value);
  };
  const auto d1 = std::get<DiodeModel>(model("d1"));
  CHECK(d1.is == 2e-14);
  CHECK(d1.n == 1.5);
  CHECK(d1.rs == 0.1);
  CHECK(d1.bv == 50.0);
  CHECK(d1.ibv == 1e-4);
  CHECK(d1.nbv == 1.2);
  CHECK(d1.eg == 0.69);
  CHECK(d1.xti == 2.0);
  CHECK(d1.tnom == 25.0);
  CHECK(d1.cjo == 4e-12);
  const auto q1 = std::get<BipolarModel>(model("q1"));
  CHECK(q1.is_pnp);
  CHECK(q1.is == 1e-15);
  CHECK(q1.bf == 150.0);
  CHECK(q1.br == 2.0);
  CHECK(q1.nf == 1.1);
  CHECK(q1.nr == 1.2);
  CHECK(q1.vaf == 80.0);
  CHECK(q1.ikf == 0.2);
  CHECK(q1.rc == 1.5);
  CHECK(q1.eg == 1.2);
  CHECK(q1.xti == 4.0);
  CHECK(q1.tnom == 20.0);
  CHECK(q1.cje == 8e-12);
  CHECK(q1.cjc == 4e-12);
  const auto q2 = std::get<BipolarModel>(model("q2"));
  CHECK_FALSE(q2.is_pnp);
  CHECK(q2.bf == 99.0);
  CHECK(q2.is == BipolarModel{}.is);
  CHECK(std::isinf(q2.vaf));
  CHECK(std::isinf(q2.ikf));
  CHECK(q2.rc == 0.0);
  CHECK_FALSE(q2.cje.has_value());
  const auto m1 = std::get<MosModel>(model("m1"));
  CHECK(m1.is_p_channel);
  CHECK(m1.vto == -2.0);
  CHECK(m1.kp == 0.5);
  CHECK(m1.lambda == 0.01);
  CHECK(m1.rd == 0.2);
  CHECK(m1.rs == 0.3);
  CHECK(m1.tnom == 30.0);
  CHECK(m1.cgs == 45e-12);
  CHECK(m1.cgd == 5e-12);
  CHECK(m1.cds == 20e-12);
  CHECK(m1.body.has_value());
  const auto m2 = std::get<MosModel>(model("m2"));
  CHECK_FALSE(m2.is_p_channel);
  CHECK_FALSE(m2.body.has_value());
}

TEST_CASE("pins depend on what the part is", "[reader]") {
  const Circuit circuit = read_good(
      small("plain = { kind = \"capacitor\", value = \"100n\" }\n"
            "fix = { kind = \"regulator\", output = \"3.3 V\" }\n"
            "adj = { kind = \"regulator\", output = \"1.25 V\", adjustable = true }\n"
            "lm = { kind = \"regulator\", type = \"LM317\" }\n",
            R"(, "plain.a", "fix.in", "adj.in", "lm.in")",
            R"(, "plain.b", "fix.common", "adj.adjust", "lm.adjust")",
            R"(open = ["fix.out", "adj.out", "lm.out"])"));
  CHECK(part(circuit, "plain").pins == std::vector<std::string>{"a", "b"});
  CHECK(part(circuit, "fix").pins == std::vector<std::string>{"in", "common", "out"});
  CHECK(part(circuit, "adj").pins == std::vector<std::string>{"in", "adjust", "out"});
  CHECK(part(circuit, "lm").pins == std::vector<std::string>{"in", "adjust", "out"});
}

TEST_CASE("a battery's charge is another type, in a state too", "[reader]") {
  const Circuit circuit = read_good(small(
      "cell = { kind = \"battery\", chemistry = \"alkaline\", size = \"AA\" }\n"
      "old = { kind = \"battery\", chemistry = \"alkaline\", size = \"AA\", charge = "
      "\"spent\", cells = 4 }\n",
      R"(, "cell.plus", "old.plus")", R"(, "cell.minus", "old.minus")",
      "[states.fresh]\n[states.late]\n\"cell.charge\" = \"spent\"\n"));
  const Part& fresh = part(circuit, "cell");
  REQUIRE(fresh.type != nullptr);
  CHECK(fresh.type->words.at("charge") == "fresh");
  CHECK(part(circuit, "old").type->words.at("charge") == "spent");
  CHECK(figure(part(circuit, "old"), "cells")->value == 4.0);
  const auto late = parts_in(circuit, circuit.states[1]);
  CHECK(late[2].type == part(circuit, "old").type);
  CHECK(parts_in(circuit, circuit.states[0])[2].type == fresh.type);
}

TEST_CASE("changes from outside are put in", "[reader][changes]") {
  const std::string text = small(
      "dial = { kind = \"trimmer\", value = \"10k\", turn = 0.5 }\n"
      "lamp = { kind = \"led\", colour = \"red\" }",
      R"(, "dial.a", "lamp.cathode")", R"(, "dial.b", "lamp.anode")",
      "open = [\"dial.wiper\"]\n[states.night]\n\"load.value\" = \"3k\"\n");
  const Circuit circuit = read_good(text, {{"load.value", "470R"},
                                           {"load.power", "1 W"},
                                           {"dial.turn", "0.25"},
                                           {"lamp.colour", "green"},
                                           {"feed.isolated", "true"}});
  CHECK(figure(part(circuit, "load"), "value")->value == 470.0);
  CHECK(figure(part(circuit, "load"), "power")->value == 1.0);
  CHECK(figure(part(circuit, "dial"), "turn")->value == 0.25);
  CHECK(part(circuit, "lamp").type->words.at("colour") == "green");
  // A state's own value stands above it.
  CHECK(figure(parts_in(circuit, circuit.states[0])[1], "value")->value == 3000.0);

  const ReadResult bad = read(text, {{"load.value", "4,7k"},
                                     {"lode.value", "1k"},
                                     {"load.valeu", "1k"},
                                     {"feed.regulated", "perhaps"},
                                     {"dial.turn", "2"},
                                     {"", ""},
                                     {".", "."},
                                     {"load.", "1k"}});
  CHECK_FALSE(bad.circuit.has_value());
  CHECK(bad.diagnostics.size() == 7);  // "" and "." name the same nothing.
  for (const Diagnostic& diagnostic : bad.diagnostics)
    CHECK(diagnostic.span == Span{{}, {}, true});
  for (const char* id : {"value-comma", "part-unknown", "key-unknown", "change-target",
                         "toml-type", "value-range"})
    CHECK_THAT(ids(bad), Catch::VectorContains(std::string(id)));
}

TEST_CASE("a change that has no place is told with what has", "[reader][changes]") {
  const auto refused = [](const std::string& text, const Change& change,
                          const std::string& id) {
    const ReadResult result = read(text, {change});
    REQUIRE(result.diagnostics.size() == 1);
    CHECK(result.diagnostics[0].id == id);
    return result.diagnostics[0];
  };
  const std::string text = small("");
  refused(text, {"load.kind", "led"}, "change-wiring");
  const Diagnostic key = refused(text, {"load.vaule", "1k"}, "key-unknown");
  CHECK(key.hint == "did you mean 'value'? keys: value, tolerance, power");
  const std::string unknown = "part-unknown";
  CHECK(refused(text, {"nope.value", "1"}, unknown).hint ==
        "parts and states: feed, load");
  std::string more;
  for (int k = 0; k < 20; ++k) {
    const std::string name = "r" + std::to_string(k);
    more += name + " = { kind = \"resistor\", value = \"1k\" }\n";
  }
  std::string open = "open = [";
  for (int k = 0; k < 20; ++k)
    open += "\"r" + std::to_string(k) + ".a\", \"r" + std::to_string(k) + ".b\", ";
  const std::string many = small(more, "", "", open + "]\n");
  CHECK_THAT(refused(many, {"nope.value", "1"}, unknown).hint,
             Catch::Contains("feed, load, r0, r1") && Catch::Contains("and 6 more"));
  CHECK(refused(many, {"laod.value", "1"}, unknown).hint == "did you mean 'load'?");
}

TEST_CASE("a complaint about a change says where it stands among them",
          "[reader][changes]") {
  const ReadResult result = read(
      small(""), {{"load.valeu", "1k", {1, 1}}, {"load.value", "1 kohmm", {2, 1}}});
  REQUIRE(result.diagnostics.size() == 2);
  CHECK(result.diagnostics[0].span == Span{{1, 1}, {1, 11}, true});
  CHECK(result.diagnostics[1].id == "unit-unknown");
  CHECK(result.diagnostics[1].span == Span{{2, 14}, {2, 19}, true});
}

TEST_CASE("an unknown colour is told with all that are known", "[reader]") {
  const ReadResult result =
      read(small(R"(lamp = { kind = "led", colour = "puce" })", "", "",
                 "open = [\"lamp.anode\", \"lamp.cathode\"]\n"));
  REQUIRE(result.diagnostics.size() == 1);
  CHECK(result.diagnostics[0].id == "type-unknown");
  for (const std::string& colour : known_types().words(KindId::led, "colour"))
    CHECK_THAT(result.diagnostics[0].hint, Catch::Contains(colour));
  CHECK_THAT(result.diagnostics[0].hint, Catch::Contains("warm white"));
}

TEST_CASE("limits are told with their figure", "[reader][limits]") {
  const auto refused = [](const std::string& text, const Limits& limits) {
    const ReadResult result =
        read_circuit(text, "some.toml", known_types(), {}, limits);
    REQUIRE(result.diagnostics.size() == 1);
    CHECK_FALSE(result.circuit.has_value());
    return result.diagnostics[0].id + ": " + result.diagnostics[0].message;
  };
  const std::string text = small("") + "[states.one]\n[states.two]\n";
  CHECK(read_circuit(text, "f", known_types(), {}, {.bytes = text.size()})
            .circuit.has_value());
  CHECK(refused(text, {.bytes = text.size() - 1}) ==
        "too-large: the description has " + std::to_string(text.size()) + " bytes; " +
            std::to_string(text.size() - 1) + " are allowed");
  CHECK(refused(text, {.parts = 1}) == "too-large: there are 2 parts; 1 are allowed");
  CHECK(refused(text, {.nets = 1}) == "too-large: there are 2 nets; 1 are allowed");
  CHECK(refused(text, {.states = 1}) == "too-large: there are 2 states; 1 are allowed");
  const std::string chip =
      small(R"(chip = { kind = "controller", outputs = ["a1", "a2"] })", "", "",
            "open = [\"chip.vdd\", \"chip.vss\"]\n");
  CHECK_THAT(refused(chip, {.pins = 1}), Catch::Contains("2 names"));
  CHECK(refused("a = [[1]]", {.nesting = 1}) ==
        "too-deep: tables and lists are nested more than 1 deep");
  CHECK(refused("a.b.c = 1", {.nesting = 1}) ==
        "too-deep: tables and lists are nested more than 1 deep");
  CHECK(refused("[a.b]\nc.d = [1]", {.nesting = 2}) ==
        "too-deep: tables and lists are nested more than 2 deep");
}

TEST_CASE("brackets and dots inside texts are not nesting", "[reader][limits]") {
  const std::string deep(100, '[');
  const std::string dots(100, '.');
  for (const std::string& quote : {std::string("\""), std::string("'"),
                                   std::string(R"(""")"), std::string("'''")}) {
    CAPTURE(quote);
    CHECK(read_good("title = " + quote + deep + dots + quote + "  # " + deep + "\n" +
                    small(""))
              .title == deep + dots);
  }
  CHECK(read_good("title = \"\\\"" + deep + "\\\\\"\n" + small("")).title ==
        "\"" + deep + "\\");
  // A long text may end in quotes of its own.
  CHECK(read_good("title = \"\"\"" + deep + "\"\"\"\"\"\n" + small("")).title ==
        deep + "\"\"");
}

TEST_CASE("nesting far beyond the limit is refused before it can do harm",
          "[reader][limits]") {
  const auto id = [](const std::string& text) {
    const ReadResult result = read(text);
    REQUIRE(result.diagnostics.size() == 1);
    return result.diagnostics[0].id;
  };
  std::string dotted = "a";
  for (int i = 0; i < 200000; ++i) dotted += ".a";
  CHECK(id(dotted + " = 1") == "too-deep");
  CHECK(id("[" + dotted + "]") == "too-deep");
  CHECK(id("a = " + std::string(500000, '[')) == "too-deep");
  std::string tables;
  for (int i = 0; i < 100000; ++i) tables += "{a=";
  CHECK(id("a = " + tables) == "too-deep");
}

TEST_CASE("what is likely meant is told where the text is no TOML", "[reader]") {
  const auto hint = [](const std::string& text) {
    const ReadResult result = read(text);
    REQUIRE(result.diagnostics.size() == 1);
    CAPTURE(text, result.diagnostics[0].message);
    CHECK(result.diagnostics[0].id == "syntax");
    return result.diagnostics[0].hint;
  };
  for (const char* value : {"330R", "10k", "4k7", "0.25W", "12V", "5%", "red",
                            "jack.plus", "5 V", "1.5 A"}) {
    CHECK_THAT(hint(fmt::format("a = {}\n", value)), Contains("stand in quotes"));
    CHECK_THAT(hint(fmt::format("a = {{ b = {}, c = 1 }}\n", value)),
               Contains("stand in quotes"));
    CHECK_THAT(hint(fmt::format("a = [{}, \"b\"]\n", value)),
               Contains("stand in quotes"));
  }
  CHECK_THAT(hint("a = { b = \"red }\n"), Contains("is not closed"));
  CHECK_THAT(hint("a = \"red\nb = 1\n"), Contains("is not closed"));
  CHECK_THAT(hint("a = 1\na = 2\n"), Contains("a name stands once"));
  CHECK_THAT(hint("[a]\nb = 1\n[a]\n"), Contains("a name stands once"));
  CHECK_THAT(hint("a = { b = \"c\" d = \"e\" }\n"), Contains("a comma stands between"));
  CHECK_THAT(hint("a = [\"b\"\nc = 1\n"), Contains("not closed by a ']'"));
  CHECK_THAT(hint("// a\n"), Contains("begins with '#'"));
  CHECK_THAT(hint("a = \"\u03A9\"; b\n"), !Contains("quotes"));
}

TEST_CASE("a misspelt key is not told to be missing as well", "[reader]") {
  const auto told = [](const char* keys) {
    return ids(read(fmt::format(R"([parts]
j = {{ kind = "dc-supply", voltage = "5 V", current = "1 A" }}
x = {{ {} }}
[nets]
top = ["j.plus", "x.{}"]
ground = ["j.minus", "x.{}"]
)",
                                keys, keys[8] == 'l' ? "anode" : "a",
                                keys[8] == 'l' ? "cathode" : "b")));
  };
  using Ids = std::vector<std::string>;
  CHECK(told(R"(kind = "led", colur = "red")") == Ids{"key-unknown"});
  CHECK(told(R"(kind = "resistor", Value = "1k")") == Ids{"key-unknown"});
  CHECK(told(R"(kind = "resistor", vlaue = "1k")") == Ids{"key-unknown"});
  CHECK(told(R"(kind = "led", label = "x", junk = "red")") == Ids{"key-unknown"});
  CHECK(told(R"(kind = "resistor", tolerence = "5%")") ==
        Ids{"key-missing", "key-unknown"});
}

TEST_CASE("a long text never has the parser ask whether a letter is a blank",
          "[reader][robust]") {
  const auto titled = [](const std::string& text) {
    return R"(title = """)" + text + "\"\"\"\n" + small("");
  };
  CHECK(read_good(titled("Hafen \\\n  f\u00FCr \u3000K\u00E4hne")).title ==
        "Hafen f\u00FCr \u3000K\u00E4hne");
  CHECK(read_good(titled("\\\n\t \\u00e9 and \u00E9")).title == "\u00E9 and \u00E9");
  CHECK(read_good(titled("\\\\\u00E9")).title == "\\\u00E9");
  CHECK(read_good("title = '''\\\u00E9'''\n" + small("")).title == "\\\u00E9");
  for (const char* const before :
       {"\\", "\\\n", "a\\ \t\n\n  ", "\\\n\"", "\\\n\"\"\\u0041", "\\\n\\U00000041\\t",
        "\\\n\\\n", R"(\\\)"}) {
    for (const char* const letter :
         {"\u00E9", "\u0499", "\u2E80", "\u3000", "\uFE00"}) {
      CAPTURE(before, letter);
      CHECK(ids(read(titled(std::string(before) + letter))) ==
            std::vector<std::string>{"syntax"});
    }
  }
}

TEST_CASE("files that are none", "[reader]") {
  CHECK(ids(read("")) == std::vector<std::string>{"key-missing", "key-missing"});
  CHECK(ids(read("\n\n# nothing\n")) ==
        std::vector<std::string>{"key-missing", "key-missing"});
  CHECK(ids(read(std::string("a = 1\0", 6))) == std::vector<std::string>{"syntax"});
  CHECK(ids(read("a = 1\na = 2\n")) == std::vector<std::string>{"syntax"});
  CHECK(ids(read("[parts")) == std::vector<std::string>{"syntax"});
  // TOML 1.0: bare keys and values are ASCII. These code points led the parser's own
  // table of spaces into undefined behaviour.
  for (const char* letter : {"\u00A1", "\u00E9", "\u03A9", "\u0499", "\u201C"}) {
    CAPTURE(letter);
    CHECK(ids(read(std::string("title = ") + letter + "x\n")) ==
          std::vector<std::string>{"syntax"});
    CHECK(ids(read(std::string(letter) + " = 1\n")) ==
          std::vector<std::string>{"syntax"});
  }
  CHECK(ids(read("\xFF\xFE")) == std::vector<std::string>{"not-utf8"});
  CHECK(ids(read("a = \"\xC3\"")) == std::vector<std::string>{"not-utf8"});
  CHECK(ids(read("a = \"\xED\xA0\x80\"")) == std::vector<std::string>{"not-utf8"});
}

TEST_CASE("many complaints are counted", "[reader]") {
  std::string parts;
  for (int i = 0; i < 100; ++i)
    parts.append("p")
        .append(std::to_string(i))
        .append(" = { kind = \"resistor\", value = \"1\" }\n");
  const ReadResult result = read(small(parts));
  REQUIRE(result.diagnostics.size() == 51);
  CHECK(result.diagnostics.back().id == "more");
  // All of the hundred have a value without unit, each has pins on no net.
  CHECK(result.diagnostics.back().message == "and 51 more complaints");
  CHECK(std::any_of(result.diagnostics.begin(), result.diagnostics.end(),
                    [](const auto& d) { return d.also.size() == 99; }));
  CHECK(result.diagnostics.front().span.begin.line == 4);
}

TEST_CASE("structure: what is no fault", "[reader][structure]") {
  // A net behind an open switch, an open output, an input or a reverse junction leaks.
  CHECK(read_good(small("door = { kind = \"switch\" }\n"
                        "chip = { kind = \"controller\", outputs = [\"x\"], inputs = "
                        "[\"y\"] }\n"
                        "r1 = { kind = \"resistor\", value = \"1k\" }\n"
                        "r2 = { kind = \"resistor\", value = \"1k\" }\n",
                        ", \"door.a\", \"chip.vdd\"", ", \"chip.vss\"",
                        "n1 = [\"door.b\", \"r1.a\"]\nn2 = [\"chip.x\", \"r1.b\"]\n"
                        "n3 = [\"chip.y\", \"r2.a\", \"r2.b\"]\n"))
            .nets.size() == 5);
  // A battery has resistance, and so has an unregulated supply.
  CHECK(read_good(
            small("cell = { kind = \"battery\", chemistry = \"alkaline\", size = "
                  "\"AA\" }\n"
                  "soft = { kind = \"dc-supply\", voltage = \"5 V\", no_load = \"7 "
                  "V\", current = \"1 A\", regulated = false }\n",
                  ", \"cell.plus\", \"soft.plus\"", ", \"cell.minus\", \"soft.minus\""))
            .parts.size() == 4);
  // A current source across a resistor.
  CHECK(read_good(small("push = { kind = \"current-source\", current = \"-1 mA\" }\n",
                        ", \"push.plus\"", ", \"push.minus\""))
            .parts.size() == 3);
  // Sources in series.
  CHECK(read_good(
            "[parts]\nv1 = { kind = \"voltage-source\", voltage = \"-5 V\" }\n"
            "v2 = { kind = \"voltage-source\", voltage = \"0 V\" }\n"
            "load = { kind = \"resistor\", value = \"1k\" }\n[nets]\n"
            "ground = [\"v1.minus\", \"load.b\"]\nmid = [\"v1.plus\", \"v2.minus\"]\n"
            "top = [\"v2.plus\", \"load.a\"]\n")
            .nets.size() == 3);
}

TEST_CASE("structure: a complaint names the parts and pins", "[reader][structure]") {
  const auto only = [](const std::string& text) {
    const ReadResult result = read(text);
    INFO(ids(result).size());
    REQUIRE(result.diagnostics.size() == 1);
    const Diagnostic& diagnostic = result.diagnostics[0];
    return diagnostic.id + ": " + diagnostic.message;
  };
  CHECK(only(small("c1 = { kind = \"capacitor\", value = \"1u\" }\n"
                   "c2 = { kind = \"capacitor\", value = \"1u\" }\n",
                   ", \"c1.a\"", ", \"c2.b\"", "mid = [\"c1.b\", \"c2.a\"]\n")) ==
        "net-floating: net 'mid' has no DC path to ground");
  // A current source into a capacitor is one fault, not two.
  CHECK(only(small("push = { kind = \"current-source\", current = \"1 mA\" }\n"
                   "c2 = { kind = \"capacitor\", value = \"1u\" }\n",
                   "", ", \"c2.b\", \"push.minus\"",
                   "mid = [\"push.plus\", \"c2.a\"]\n")) ==
        "source-path: no DC path leads from 'push.plus' back to 'push.minus'");
  CHECK(only(small("push = { kind = \"current-source\", current = \"1 mA\" }\n", "",
                   ", \"push.minus\"", "open = [\"push.plus\"]\n")) ==
        "source-path: no DC path leads from 'push.plus' back to 'push.minus'");
  CHECK(only(small("more = { kind = \"voltage-source\", voltage = \"5 V\" }\n",
                   ", \"more.plus\"", ", \"more.minus\"")) ==
        "source-loop: sources that hold their voltage form a loop: 'feed', 'more'");
  CHECK(only(small("l1 = { kind = \"inductor\", value = \"1 mH\" }\n", ", \"l1.a\"",
                   ", \"l1.b\"")) ==
        "supply-shorted: 'feed.plus' and 'feed.minus' are joined by 'l1', which has no "
        "resistance");
}

TEST_CASE("structure is checked as it is in each state", "[reader][structure]") {
  const std::string text =
      small("l1 = { kind = \"inductor\", value = \"1 mH\", dcr = \"2 ohm\" }\n",
            ", \"l1.a\"", ", \"l1.b\"", "[states.cold]\n\"l1.dcr\" = \"0 ohm\"\n");
  CHECK(ids(read(text)) == std::vector<std::string>{"supply-shorted"});
}

TEST_CASE("damaged descriptions are refused or read, never more",
          "[reader][property]") {
  constexpr unsigned kSeed = 2718;
  CAPTURE(kSeed);
  std::mt19937 random(kSeed);
  std::vector<std::string> seeds = {kHarbour};
  namespace fs = std::filesystem;
  using namespace std::string_literals;  // for a text with a NUL in it
  for (const auto& entry : fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) /
                                                  "tests" / "diagnostics")) {
    if (!entry.is_regular_file()) continue;
    std::ifstream file(entry.path(), std::ios::binary);
    seeds.emplace_back(std::istreambuf_iterator<char>(file),
                       std::istreambuf_iterator<char>());
  }
  const std::string spice = "[]{}\"'=.,#\\\n\0\xFF\x80-+e0inf"s;
  int read_whole = 0;
  for (int i = 0; i < 1500; ++i) {
    std::string text = seeds[i % 3 == 0 ? 0 : random() % seeds.size()];
    for (std::size_t edits = 1 + random() % 4; edits > 0 && !text.empty(); --edits) {
      const std::size_t at = random() % text.size();
      switch (random() % 4) {
        case 0:
          text[at] = spice[random() % spice.size()];
          break;
        case 1:
          text.erase(at, 1 + random() % 8);
          break;
        case 2:
          text.insert(at, 1, spice[random() % spice.size()]);
          break;
        default:
          text.insert(at, text.substr(random() % text.size(), random() % 40));
          break;
      }
    }
    CAPTURE(i);
    const ReadResult result = read(text);
    REQUIRE(result.circuit.has_value() == result.diagnostics.empty());
    if (result.circuit) ++read_whole;
    for (const Diagnostic& diagnostic : result.diagnostics) {
      REQUIRE(diagnostic.span.end >= diagnostic.span.begin);
      REQUIRE(to_text(diagnostic, "f", text).size() < 4000);
    }
  }
  CHECK(read_whole > 10);
}
