#include "core/catalogue/kind.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "core/catalogue/pins.h"

using namespace benchproof;

TEST_CASE("the kinds and their pins are those of the description format", "[kind]") {
  // The table of the description format (section 4 of the design).
  const std::vector<std::pair<std::string, std::string>> wanted = {
      {"resistor", "a b"},
      {"trimmer", "a wiper b"},
      {"light-resistor", "a b"},
      {"heat-resistor", "a b"},
      {"capacitor", "a b"},
      {"inductor", "a b"},
      {"diode", "anode cathode"},
      {"zener", "anode cathode"},
      {"led", "anode cathode"},
      {"transistor", "base collector emitter"},
      {"mosfet", "gate drain source"},
      {"regulator", "in common out"},
      {"switch", "a b"},
      {"controller", "vdd vss"},
      {"dc-supply", "plus minus"},
      {"battery", "plus minus"},
      {"fuse", "a b"},
      {"lamp", "a b"},
      {"motor", "a b"},
      {"relay-coil", "a b"},
      {"buzzer", "a b"},
      {"wire", "a b"},
      {"voltage-source", "plus minus"},
      {"current-source", "plus minus"},
  };
  REQUIRE(kinds().size() == wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    CHECK(kinds()[i].name == wanted[i].first);
    CHECK(kinds()[i].pins == wanted[i].second);
    CHECK(static_cast<std::size_t>(kinds()[i].id) == i);
    CHECK(&kind(kinds()[i].id) == &kinds()[i]);
    CHECK(find_kind(wanted[i].first) == &kinds()[i]);
  }
  CHECK(find_kind("Resistor") == nullptr);
  CHECK(find_kind("") == nullptr);
}

TEST_CASE("the rules of every key hold together", "[kind]") {
  for (const Kind& row : kinds()) {
    std::set<std::string> names = {"kind", "label"};
    for (const Key& key : row.keys) {
      CAPTURE(row.name, key.name);
      CHECK(names.insert(std::string(key.name)).second);
      CHECK(find_key(row, key.name) == &key);
      CHECK_FALSE(key.about.empty());
      CHECK(key.least < key.most);
      CHECK((key.shape == Shape::word) != key.choices.empty());
      CHECK((key.unit == Unit::none || key.shape == Shape::quantity));
      CHECK((key.unit != Unit::none || key.shape != Shape::quantity));
      for (const std::string& other : split_words(key.only_with))
        CHECK(find_key(row, other) != nullptr);
      for (const std::string& other : split_words(key.needed_with))
        CHECK(find_key(row, other) != nullptr);
    }
    for (const std::string& name : split_words(row.required))
      CHECK(find_key(row, name) != nullptr);
    for (const std::string& name : split_words(row.one_of))
      CHECK(find_key(row, name) != nullptr);
    const bool has_model = find_key(row, "model") != nullptr;
    CHECK(model_parameters(row.id).empty() != has_model);
  }
}

TEST_CASE("the parameters of every model hold together", "[kind]") {
  for (const Kind& row : kinds()) {
    std::set<std::string> names;
    for (const ModelParameter& parameter : model_parameters(row.id)) {
      CAPTURE(row.name, parameter.name);
      CHECK(names.insert(std::string(parameter.name)).second);
      CHECK(parameter.least < parameter.most);
      CHECK_FALSE(parameter.about.empty());
    }
  }
}

TEST_CASE("words are split at spaces", "[kind]") {
  CHECK(split_words("").empty());
  CHECK(split_words("a") == std::vector<std::string>{"a"});
  CHECK(split_words("plus minus") == std::vector<std::string>{"plus", "minus"});
  CHECK(split_words("  a  b ") == std::vector<std::string>{"a", "b"});
}

TEST_CASE("pins are named where their kind has them", "[kind]") {
  const auto pin = [](std::string_view kind, int place) {
    const auto row = std::find_if(kinds().begin(), kinds().end(),
                                  [kind](const auto& k) { return k.name == kind; });
    REQUIRE(row != kinds().end());
    std::istringstream pins{std::string(row->pins)};
    std::string name;
    for (int k = 0; k <= place; ++k) pins >> name;
    return name;
  };
  CHECK(pin("regulator", kIn) == "in");
  CHECK(pin("regulator", kCommon) == "common");
  CHECK(pin("regulator", kOut) == "out");
  CHECK(pin("transistor", kBase) == "base");
  CHECK(pin("transistor", kCollector) == "collector");
  CHECK(pin("transistor", kEmitter) == "emitter");
  CHECK(pin("mosfet", kGate) == "gate");
  CHECK(pin("mosfet", kDrain) == "drain");
  CHECK(pin("mosfet", kSource) == "source");
  CHECK(pin("mosfet", kControl) == "gate");
  CHECK(pin("transistor", kHigh) == "collector");
  CHECK(pin("transistor", kLow) == "emitter");
  CHECK(pin("trimmer", kWiper) == "wiper");
  for (const char* kind : {"diode", "zener", "led"}) {
    CHECK(pin(kind, kAnode) == "anode");
    CHECK(pin(kind, kCathode) == "cathode");
  }
}
