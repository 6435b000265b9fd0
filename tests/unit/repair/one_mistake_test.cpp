#include "core/repair/one_mistake.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "core/repair/repairs.h"
#include "tests/files.h"
#include "tests/nodal_witness.h"
#include "tests/unit/check/bench.h"

using namespace benchproof;

namespace {

Circuit described(const std::string& text) {
  static const Catalogue catalogue = built_in_catalogue();
  ReadResult result = read_circuit(text, "one.toml", catalogue);
  REQUIRE(result.circuit);
  return std::move(*result.circuit);
}

std::optional<OneMistake> explained(const Circuit& circuit) {
  return one_mistake(circuit, verify(circuit, by_nodal, by_nodal), by_nodal, by_nodal);
}

/// What is told first of a deliberate mistake.
std::string first_told(const std::string& name) {
  const auto found = explained(described(text_of(
      std::string(BENCHPROOF_SOURCE_DIR) + "/" + "tests/mistakes/" + name + ".toml")));
  return found ? found->causes.front().mistake : "";
}

}  // namespace

TEST_CASE("the mistake that was made on purpose explains all faults", "[one-mistake]") {
  // The names of the files say what is wrong in each.
  const auto [name, mistake] = GENERATE(table<std::string, std::string>({
      {"guard-diode-backwards", "'guard' is the wrong way round"},
      {"flyback-reversed", "'catch' is the wrong way round"},
      {"electrolytic-reversed", "'store' is the wrong way round"},
      {"79xx-cap-reversed", "'in_n' is the wrong way round"},
      {"led-reversed-behind-guard", "'lamp' is the wrong way round"},
      {"led-reversed-in-string", "'lamp2' is the wrong way round"},
      {"supply-reversed-reg", "'jack' is the wrong way round"},
      {"chip-reversed", "'vdd' and 'vss' of 'chip' are exchanged"},
      {"e-c-swapped", "collector and emitter of 'driver' are exchanged"},
      {"base-and-collector-exchanged", "base and collector of 'q' are exchanged"},
      {"drain-and-source-exchanged", "drain and source of 'q' are exchanged"},
      {"reg-in-out-swapped", "in and out of 'reg' are exchanged"},
      {"no-resistor", "'l' has no resistor of its own"},
      {"led-on-pin-no-r", "'l' has no resistor of its own"},
      {"no-base-resistor", "the base of 'driver' has no resistor"},
      {"chip-ground-open", "'chip.vss' is not joined to ground"},
      {"second-supply-never-meets-ground", "'power.minus' is not joined to ground"},
      {"mosfet-supply-never-meets-ground", "'power.minus' is not joined to ground"},
      {"reserve-supply-minus-forgotten", "'cells.minus' is not joined to ground"},
      {"lm317-resistors-swapped", "'top' and 'low' are in each other's place"},
      {"wrong-colour-code-10x", "'r' is 47 kohm where 4.7 kohm was meant"},
      {"resistor-far-too-large", "'bollard_r' is 330 kohm where 3.3 kohm was meant"},
  }));
  CAPTURE(name);
  CHECK(first_told(name) == mistake);
}

TEST_CASE("what no single mistake explains is left unexplained", "[one-mistake]") {
  // A part that is too weak, a load that asks too much: nothing is written wrongly.
  for (const char* name :
       {"mosfet-not-logic-level", "relay-on-pin", "coin-cell-drives-motor",
        "chip-on-9v", "pin-overload", "string-too-long", "reg-dropout"}) {
    CAPTURE(name);
    CHECK(first_told(name).empty());
  }
}

TEST_CASE("what was chosen too small or too large is nobody's slip", "[one-mistake]") {
  const auto lamp = [](const char* volts, const char* ohms) {
    const auto found = explained(described(
        std::string("[parts]\n") + "jack = { kind = \"dc-supply\", voltage = \"" +
        volts + "\", current = \"500 mA\", regulated = true }\n" +
        "r = { kind = \"resistor\", value = \"" + ohms + "\", power = \"1 W\" }\n" +
        "led = { kind = \"led\", colour = \"white\" }\n" +
        "[paths]\na = [\"jack.plus\", \"r\", \"led\", \"ground\", \"jack.minus\"]\n"));
    return found ? found->causes.front().mistake : std::string();
  };
  // 39 mA where 300 ohm would do; more volts than the resistor was meant for.
  CHECK(lamp("9 V", "150R").empty());
  CHECK(lamp("24 V", "470R").empty());
  // A tenth, and a prefix: 47 kohm would leave the lamp faint.
  CHECK(lamp("9 V", "47R") == "'r' is 47 ohm where 470 ohm was meant");
  CHECK(lamp("9 V", "470k") == "'r' is 470 kohm where 4.7 kohm was meant");
}

TEST_CASE("slips that newcomers made are explained", "[one-mistake]") {
  using Edits = std::vector<std::pair<std::string, std::string>>;
  const auto told = [](const std::string& path, const Edits& edits) {
    std::string text = text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/" + path);
    for (const auto& [from, to] : edits) {
      const std::size_t at = text.find(from);
      REQUIRE(at != std::string::npos);
      text.replace(at, from.size(), to);
    }
    const auto found = explained(described(text));
    return found ? found->causes.front().mistake : std::string();
  };
  // A transistor that guards against the wrong polarity carries its current backwards.
  CHECK(told("circuits/guard-pmos.toml", {{"\"guard.drain\"", "\"guard.SOURCE\""},
                                          {"\"guard.source\"", "\"guard.drain\""},
                                          {"guard.SOURCE", "guard.source"}}) ==
        "drain and source of 'guard' are exchanged");
  // An adapter of 24 V burns several parts at once: no part is the wrong one.
  CHECK(told("circuits/harbour-light.toml",
             {{"voltage = \"12 V\", current = \"100 mA\"",
               "voltage = \"24 V\", current = \"100 mA\""}}) ==
        "'jack' has 24 V where 12 V was meant");
  // Both leads of a resistor in one row of the breadboard.
  const auto found = explained(described(
      "[parts]\ns = { kind = \"dc-supply\", voltage = \"5 V\", current = \"1 A\", "
      "regulated = true }\nr = { kind = \"resistor\", value = \"330R\" }\n"
      "l = { kind = \"led\", colour = \"red\" }\n[nets]\n"
      "rail = [\"s.plus\", \"r.a\", \"r.b\", \"l.anode\"]\n"
      "ground = [\"s.minus\", \"l.cathode\"]\n"));
  REQUIRE(found);
  CHECK(found->causes.front().mistake == "both leads of 'r' are on 'rail'");
  CHECK(found->causes.front().remedy == "join one of them to 'l.anode' alone");
}

TEST_CASE("a circuit without faults is not mended", "[one-mistake]") {
  for (const char* name : {"led-single", "night-switch", "supply-5v-fixed"}) {
    CAPTURE(name);
    CHECK_FALSE(
        explained(described(text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/" +
                                    "circuits/" + std::string(name) + ".toml"))));
  }
}

TEST_CASE("a mistake made in a sound circuit is found again", "[one-mistake]") {
  // Every repair of a sound circuit that breaks it is a mistake; undone it is whole, so
  // that there is at least that explanation.
  const Circuit sound = described(
      text_of(std::string(BENCHPROOF_SOURCE_DIR) + "/" + "circuits/night-switch.toml"));
  int broken = 0;
  for (const Repair& repair : repairs_of(sound)) {
    const bool comes_back =
        repair.remedy == "turn it round" || repair.remedy == "exchange them";
    if (!comes_back) continue;  // Done twice these are undone.
    Circuit circuit = sound;
    repair.undo(circuit);
    if (verify(circuit, by_nodal, by_nodal).verdict < Verdict::fault) continue;
    ++broken;
    CAPTURE(repair.mistake);
    const auto found = explained(circuit);
    REQUIRE(found);
    CHECK(std::any_of(found->causes.begin(), found->causes.end(),
                      [&](const OneMistake::Cause& cause) {
                        return cause.mistake == repair.mistake;
                      }));
  }
  CHECK(broken >= 3);
}

TEST_CASE("a circuit that is too large is not tried", "[one-mistake]") {
  std::string text =
      "[parts]\ns = { kind = \"dc-supply\", voltage = \"5 V\", current = \"1 A\", "
      "regulated = true }\n";
  std::string rail = "\"s.plus\"";
  std::string ground = "\"s.minus\"";
  std::string nets;
  for (int k = 0; k < 130; ++k) {
    const std::string n = std::to_string(k);
    text += "r" + n + " = { kind = \"resistor\", value = \"10R\" }\n";
    rail += ", \"r" + n + ".a\"";
    ground += ", \"r" + n + ".b\"";
  }
  text += "[nets]\nrail = [" + rail + "]\nground = [" + ground + "]\n";
  const Circuit circuit = described(text);
  REQUIRE(repairs_of(circuit).size() * figure_count(circuit) > kMostRepairFigures);
  CHECK_FALSE(explained(circuit));
}
