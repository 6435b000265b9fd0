#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

using namespace benchproof;
using benchproof::known_types;
using benchproof::test::part;
using Level = OutputSetting::Level;

namespace {

const std::string kJetty = R"(title = "Jetty"
[parts]
jack   = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip   = { kind = "controller", type = "cmos-5v", outputs = ["lamp", "fade"] }
lamp_r = { kind = "resistor", value = "330R", power = "0.25 W" }
lamp   = { kind = "led", colour = "red", size = "5 mm" }
fade_r = { kind = "resistor", value = "330R" }
gate   = { kind = "diode", model = { is = 1e-9, n = 1.5 } }
door   = { kind = "switch" }
tail   = { kind = "resistor", value = "10k" }

[nets]
rail   = ["jack.plus", "chip.vdd", "door.a"]
ground = ["jack.minus", "chip.vss", "lamp.cathode", "gate.cathode", "tail.b"]
out    = ["chip.lamp", "lamp_r.a"]
lit    = ["lamp_r.b", "lamp.anode"]
soft   = ["chip.fade", "fade_r.a"]
end    = ["fade_r.b", "gate.anode"]
way    = ["door.b", "tail.a"]

[states.night]
"chip.lamp" = "high"
"chip.fade" = { pwm = "30%", frequency = "500 Hz" }
[states.night.jack]
voltage = "4.8 V"

[states.day]
)";

Circuit read_in(const std::string& variants, const Wishes& asked) {
  const std::string text = kJetty + variants;
  ReadResult result = read_circuit(text, "jetty.toml", known_types(), asked);
  std::string told;
  for (const Diagnostic& d : result.diagnostics) told += to_text(d, "jetty.toml", text);
  INFO(told);
  REQUIRE(result.circuit.has_value());
  return *std::move(result.circuit);
}

/// The circuit in the variant "v" that has these lines.
Circuit in_variant(const std::string& lines) {
  return read_in("[variants.v]\n" + lines, {.variant = "v"});
}

Circuit with(const std::vector<Change>& changes) {
  return read_in("", {.changes = changes});
}

double value(const Circuit& circuit, const std::string& name, const std::string& key) {
  return figure(part(circuit, name), key).value().value;
}

OutputSetting output_of(const Circuit& circuit, std::size_t state,
                        const std::string& pin) {
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part& chip = circuit.parts[static_cast<std::size_t>(k)];
    if (chip.name == "chip")
      return output(circuit.states[state], {k, pin_index(chip, pin)});
  }
  return {};
}

}  // namespace

TEST_CASE("a description without a variant is read as it stands", "[variants]") {
  const std::string variants = "[variants.dim]\n\"lamp_r.value\" = \"680R\"\n";
  const Circuit circuit = read_in(variants, {});
  REQUIRE(circuit.variants.size() == 1);
  CHECK(circuit.variants[0].name == "dim");
  CHECK(circuit.variants[0].changes == std::vector<std::string>{"lamp_r.value=680R"});
  CHECK(circuit.variant.empty());
  CHECK(value(circuit, "lamp_r", "value") == 330.0);
  CHECK(read_in(variants, {.variant = "dim"}).variant == "dim");
}

TEST_CASE("a variant changes values, ratings, types, models, the ambient",
          "[variants]") {
  const Circuit circuit = in_variant(
      "ambient = \"40 C\"\n"
      "\"lamp_r.value\" = \"680R\"\n"
      "\"lamp_r.power\" = \"0.5 W\"\n"
      "\"chip.pin_limit\" = \"30 mA\"\n"
      "\"lamp.label\" = \"a dim one\"\n"
      "\"gate.model.n\" = 2.0\n"
      "[variants.v.fade_r]\nvalue = \"1k\"\n");
  CHECK(circuit.ambient == 40.0);
  CHECK(value(circuit, "lamp_r", "value") == 680.0);
  CHECK(value(circuit, "lamp_r", "power") == 0.5);
  CHECK(value(circuit, "chip", "pin_limit") == 0.03);
  CHECK(value(circuit, "fade_r", "value") == 1000.0);
  CHECK(part(circuit, "lamp").label == "a dim one");
  const auto& model = std::get<DiodeModel>(
      std::get<DeviceModel>(part(circuit, "gate").settings.at("model").value));
  CHECK(model.n == 2.0);
  CHECK(model.is == 1e-9);
}

TEST_CASE("a type of a variant is looked up, and takes the place of what gave the part",
          "[variants]") {
  const std::vector<std::string> types = known_types().names(KindId::led);
  REQUIRE_FALSE(types.empty());
  const Circuit circuit = in_variant(R"("lamp.type" = ")" + types.front() + "\"\n");
  CHECK(part(circuit, "lamp").type == known_types().find(KindId::led, types.front()));
  CHECK_FALSE(part(circuit, "lamp").settings.contains("colour"));
  CHECK_FALSE(part(circuit, "lamp").settings.contains("size"));
  const Circuit ideal =
      in_variant("\"gate.drop\" = \"0.7 V\"\n\"gate.slope\" = \"1R\"\n");
  CHECK(value(ideal, "gate", "drop") == 0.7);
  CHECK(value(ideal, "gate", "slope") == 1.0);
  CHECK_FALSE(part(ideal, "gate").settings.contains("model"));
}

TEST_CASE("a variant changes what states say, in either spelling", "[variants]") {
  const Circuit circuit = in_variant(
      "\"night.chip.lamp\" = \"low\"\n"
      "\"night.chip.fade.pwm\" = \"60%\"\n"
      "\"night.jack.voltage\" = \"4.5 V\"\n"
      "\"night.door\" = \"closed\"\n"
      "[variants.v.day]\n\"chip.lamp\" = { pwm = \"10%\", frequency = \"1 kHz\" }\n"
      "[variants.v.day.lamp_r]\nvalue = \"1k\"\n");
  CHECK(output_of(circuit, 0, "lamp").level == Level::low);
  CHECK(output_of(circuit, 0, "fade").duty == 0.6);
  CHECK(output_of(circuit, 0, "fade").hertz == 500.0);
  CHECK(output_of(circuit, 1, "lamp").duty == 0.1);
  CHECK(circuit.states[0].settings.size() == 1);
  const auto night = parts_in(circuit, circuit.states[0]);
  const auto day = parts_in(circuit, circuit.states[1]);
  CHECK(figure(night[0], "voltage")->value == 4.5);
  CHECK(figure(day[0], "voltage")->value == 5.0);
  CHECK(figure(day[2], "value")->value == 1000.0);
  CHECK(circuit.states[0].closed.size() == 1);
  CHECK(circuit.states[1].closed.empty());
}

TEST_CASE("changes from the command line reach all that a variant does", "[variants]") {
  const Circuit circuit = with({{"ambient", "40 C"},
                                {"night.chip.lamp", "low"},
                                {"night.chip.fade.pwm", "60%"},
                                {"night.door", "closed"},
                                {"night.jack.voltage", "4.5 V"},
                                {"gate.model.n", "2"}});
  CHECK(circuit.ambient == 40.0);
  CHECK(output_of(circuit, 0, "lamp").level == Level::low);
  CHECK(output_of(circuit, 0, "fade").duty == 0.6);
  CHECK(circuit.states[0].closed.begin()->second);
  const auto& model = std::get<DiodeModel>(
      std::get<DeviceModel>(part(circuit, "gate").settings.at("model").value));
  CHECK(model.n == 2.0);
}

TEST_CASE("changes stand above the variant", "[variants]") {
  const std::string variants =
      "[variants.dim]\n\"lamp_r.value\" = \"680R\"\n\"fade_r.value\" = \"680R\"\n";
  const Circuit circuit =
      read_in(variants, {.variant = "dim", .changes = {{"lamp_r.value", "1k"}}});
  CHECK(value(circuit, "lamp_r", "value") == 1000.0);
  CHECK(value(circuit, "fade_r", "value") == 680.0);
  CHECK(circuit.variant == "dim");
  REQUIRE(circuit.variants.size() == 1);
  CHECK(circuit.variants[0].name == "dim");
}

TEST_CASE("each complaint says in which variant it holds", "[variants]") {
  const std::string text = kJetty +
                           "[variants.one]\n\"night.chip.fade\" = \"high\"\n"
                           "[[expect]]\nstate = \"night\"\nnet = \"soft\"\n"
                           "phase = \"on\"\nvoltage = { min = \"1 V\" }\n";
  const ReadResult result = read_circuit(text, "jetty.toml", known_types());
  REQUIRE(result.diagnostics.size() == 1);
  CHECK(result.diagnostics[0].id == "expect-phase");
  CHECK_THAT(result.diagnostics[0].message, Catch::EndsWith(", in variant 'one'"));
}

TEST_CASE("variants are limited in number", "[variants]") {
  std::string text = kJetty;
  for (int k = 0; k < 51; ++k) text += "[variants.v" + std::to_string(k) + "]\n";
  const ReadResult result = read_circuit(text, "jetty.toml", known_types());
  REQUIRE(result.diagnostics.size() == 1);
  CHECK(result.diagnostics[0].id == "too-large");
}
