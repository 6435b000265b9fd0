#include "core/circuit/circuit.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

using namespace benchproof;
using Catch::Matchers::WithinAbs;
using Level = OutputSetting::Level;

namespace {

/// A part with one figure in each place that a figure may come from.
struct Sources {
  Type type;
  Type defaults;
  Part part;

  Sources() {
    type.name = "some type";
    type.figures["current"] = {0.02, Unit::ampere, Mark::verified, "a sheet", "25 C"};
    type.figures["reverse"] = {5.0, Unit::volt, Mark::verified, "a sheet", ""};
    type.words["colour"] = "red";
    defaults.figures["reverse"] = {3.0, Unit::volt, Mark::practice, "", ""};
    defaults.figures["power"] = {0.06, Unit::watt, Mark::practice, "", ""};
    part.name = "lamp";
    part.kind = KindId::led;
    part.pins = {"anode", "cathode"};
    part.nets = {1, 0};
  }
};

State pwm_state(const std::vector<std::pair<double, double>>& duty_and_hertz) {
  State state;
  for (std::size_t i = 0; i < duty_and_hertz.size(); ++i) {
    const auto [duty, hertz] = duty_and_hertz[i];
    state.outputs[{0, static_cast<int>(i) + 2}] = {Level::pwm, duty, hertz, {}};
  }
  return state;
}

Circuit chip_circuit(std::size_t outputs) {
  Circuit circuit;
  Part chip;
  chip.name = "chip";
  chip.kind = KindId::controller;
  chip.pins = {"vdd", "vss"};
  for (std::size_t i = 0; i < outputs; ++i)
    chip.pins.push_back(std::string("p").append(std::to_string(i)));
  circuit.parts = {chip};
  return circuit;
}

/// The share of the time that an output is high.
double high_share(const std::vector<Phase>& phases, PinRef pin) {
  double share = 0.0;
  for (const Phase& phase : phases)
    if (output(phase.state, pin).level == Level::high) share += phase.share;
  return share;
}

// A handful of sums and products of shares of at most 1.
constexpr double kRounding = 1e-15;

}  // namespace

TEST_CASE("a figure is the part's own, else its type's, else the kind's", "[circuit]") {
  Sources s;
  s.part.type = &s.type;
  s.part.defaults = &s.defaults;
  CHECK(figure(s.part, "current")->value == 0.02);
  CHECK(figure(s.part, "current")->mark == Mark::verified);
  CHECK(figure(s.part, "reverse")->value == 5.0);
  CHECK(figure(s.part, "power")->value == 0.06);
  CHECK(figure(s.part, "power")->mark == Mark::practice);
  CHECK_FALSE(figure(s.part, "pulse").has_value());

  s.part.settings["current"] = {0.01, {}};
  const auto given = figure(s.part, "current");
  REQUIRE(given.has_value());
  CHECK(given->value == 0.01);
  CHECK(given->unit == Unit::ampere);
  CHECK(given->mark == Mark::given);
  CHECK(given->source == "description");

  s.part.type = nullptr;
  CHECK(figure(s.part, "reverse")->value == 3.0);
  s.part.defaults = nullptr;
  CHECK_FALSE(figure(s.part, "reverse").has_value());
}

TEST_CASE("words, flags and pins of a part", "[circuit]") {
  Sources s;
  CHECK(word_of(s.part, "colour").empty());
  s.part.type = &s.type;
  CHECK(word_of(s.part, "colour") == "red");
  s.part.settings["colour"] = {std::string("green"), {}};
  CHECK(word_of(s.part, "colour") == "green");
  CHECK_FALSE(figure(s.part, "colour").has_value());

  CHECK(flag(s.part, "regulated", true));
  CHECK_FALSE(flag(s.part, "regulated", false));
  s.part.settings["regulated"] = {false, {}};
  CHECK_FALSE(flag(s.part, "regulated", true));

  CHECK(pin_index(s.part, "anode") == 0);
  CHECK(pin_index(s.part, "cathode") == 1);
  CHECK(pin_index(s.part, "gate") == -1);
}

TEST_CASE("a state's values are laid over the parts", "[circuit]") {
  Circuit circuit;
  Part supply;
  supply.name = "jack";
  supply.kind = KindId::dc_supply;
  supply.settings["voltage"] = {12.0, {}};
  supply.settings["no_load"] = {18.0, {}};
  circuit.parts = {supply};

  State state;
  state.settings[{0, "voltage"}] = {8.0, {}};
  const auto moved = parts_in(circuit, state);
  CHECK(figure(moved[0], "voltage")->value == 8.0);
  // In proportion: 18 V * 8 V / 12 V.
  CHECK_THAT(figure(moved[0], "no_load")->value, WithinAbs(12.0, 1e-14));
  CHECK(figure(circuit.parts[0], "voltage")->value == 12.0);

  state.settings[{0, "no_load"}] = {10.0, {}};
  CHECK(figure(parts_in(circuit, state)[0], "no_load")->value == 10.0);
  CHECK(figure(parts_in(circuit, State{})[0], "no_load")->value == 18.0);

  const Type other{.name = "other"};
  State changed;
  changed.types[0] = &other;
  CHECK(parts_in(circuit, changed)[0].type == &other);
}

TEST_CASE("outputs not named are low", "[circuit]") {
  State state;
  state.outputs[{0, 2}].level = Level::high;
  CHECK(output(state, {0, 2}).level == Level::high);
  CHECK(output(state, {0, 3}).level == Level::low);
}

TEST_CASE("a state without PWM has one phase", "[circuit][phases]") {
  State state;
  state.name = "night";
  state.outputs[{0, 2}].level = Level::high;
  const auto list = phases(chip_circuit(2), state);
  REQUIRE(list.size() == 1);
  CHECK(phase_count(state) == 1);
  CHECK(list[0].name.empty());
  CHECK(list[0].share == 1.0);
  CHECK(list[0].all_on);
  CHECK(list[0].all_off);
  CHECK(list[0].state.name == "night");
  CHECK(output(list[0].state, {0, 2}).level == Level::high);
}

TEST_CASE("one PWM output is on, then off", "[circuit][phases]") {
  const State state = pwm_state({{0.3, 500.0}});
  const auto list = phases(chip_circuit(1), state);
  REQUIRE(list.size() == 2);
  CHECK(list[0].name == "on");
  CHECK(list[0].all_on);
  CHECK_FALSE(list[0].all_off);
  CHECK(list[0].share == 0.3);
  CHECK(output(list[0].state, {0, 2}).level == Level::high);
  CHECK(list[1].name == "off");
  CHECK(list[1].all_off);
  CHECK_FALSE(list[1].all_on);
  CHECK_THAT(list[1].share, WithinAbs(0.7, kRounding));
  CHECK(output(list[1].state, {0, 2}).level == Level::low);
}

TEST_CASE("outputs of one frequency nest", "[circuit][phases]") {
  const State state = pwm_state({{0.3, 500.0}, {0.8, 500.0}, {0.3, 500.0}});
  const auto list = phases(chip_circuit(3), state);
  REQUIRE(list.size() == 3);
  CHECK(phase_count(state) == 3);
  CHECK(list[0].name == "on");
  CHECK(list[1].name == "p0 off, p1 on, p2 off");
  CHECK(list[2].name == "off");
  CHECK_THAT(list[0].share, WithinAbs(0.3, kRounding));
  CHECK_THAT(list[1].share, WithinAbs(0.5, kRounding));
  CHECK_THAT(list[2].share, WithinAbs(0.2, kRounding));
}

TEST_CASE("every output is high for its duty, whatever the frequencies",
          "[circuit][phases]") {
  const std::vector<std::pair<double, double>> outputs = {
      {0.3, 500.0}, {0.8, 1000.0}, {0.1, 500.0}, {0.25, 50.0}};
  const State state = pwm_state(outputs);
  const auto list = phases(chip_circuit(outputs.size()), state);
  CHECK(list.size() == 12);  // 3 * 2 * 2
  CHECK(phase_count(state) == list.size());
  double sum = 0.0;
  for (const Phase& phase : list) {
    CHECK(phase.share > 0.0);
    sum += phase.share;
    for (const auto& [pin, setting] : phase.state.outputs)
      CHECK((setting.level == Level::high || setting.level == Level::low));
  }
  CHECK_THAT(sum, WithinAbs(1.0, kRounding));
  for (std::size_t i = 0; i < outputs.size(); ++i)
    CHECK_THAT(high_share(list, {0, static_cast<int>(i) + 2}),
               WithinAbs(outputs[i].first, kRounding));
  // Independent: both high for the product of the duties.
  double both = 0.0;
  for (const Phase& phase : list)
    if (output(phase.state, {0, 2}).level == Level::high &&
        output(phase.state, {0, 3}).level == Level::high)
      both += phase.share;
  CHECK_THAT(both, WithinAbs(0.3 * 0.8, kRounding));
  CHECK(std::count_if(list.begin(), list.end(),
                      [](const Phase& phase) { return phase.all_on; }) == 1);
  CHECK(std::count_if(list.begin(), list.end(),
                      [](const Phase& phase) { return phase.all_off; }) == 1);
}

TEST_CASE("too many phases are counted, not made", "[circuit][phases]") {
  std::vector<std::pair<double, double>> outputs;
  for (int i = 0; i < 100; ++i) outputs.emplace_back(0.5, 100.0 + i);
  CHECK(phase_count(pwm_state(outputs)) == kMostPhases + 1);
  outputs.resize(6);
  CHECK(phase_count(pwm_state(outputs)) == kMostPhases);
  CHECK(phases(chip_circuit(6), pwm_state(outputs)).size() == kMostPhases);
}

TEST_CASE("phases name the part where outputs of several parts pulse",
          "[circuit][phases]") {
  Circuit circuit = chip_circuit(1);
  circuit.parts.push_back(circuit.parts[0]);
  circuit.parts[1].name = "twin";
  State state;
  state.outputs[{0, 2}] = {Level::pwm, 0.5, 100.0, {}};
  state.outputs[{1, 2}] = {Level::pwm, 0.2, 100.0, {}};
  const auto list = phases(circuit, state);
  REQUIRE(list.size() == 3);
  CHECK(list[1].name == "chip.p0 on, twin.p0 off");
}
