// What faults make a meter show, against circuits that are calculated by hand.
#include "core/diagnose/foreseen/predictions.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iterator>

#include "core/circuit/read/reader.h"
#include "core/diagnose/foreseen/detail/pieces.h"
#include "core/tolerance/copy/spreads.h"
#include "tests/known_types.h"

using namespace benchproof;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

Circuit described(const std::string& text) {
  ReadResult result = read_circuit(text, "predicted.toml", known_types());
  std::string told;
  for (const Diagnostic& d : result.diagnostics)
    told += to_text(d, "predicted.toml", text);
  INFO(told);
  REQUIRE(result.circuit);
  return std::move(*result.circuit);
}

Question volts(std::string net, std::string state = "steady", std::string to = "") {
  Question q;
  q.state = std::move(state);
  q.net = std::move(net);
  q.to = std::move(to);
  return q;
}

Question amps(std::string part, std::string state = "steady") {
  Question q;
  q.state = std::move(state);
  q.asks = Asks::current;
  q.part = std::move(part);
  return q;
}

Question off(Asks asks, std::string net, std::string to = "",
             std::vector<std::string> out = {}) {
  Question q;
  q.powered = false;
  q.asks = asks;
  q.net = std::move(net);
  q.to = std::move(to);
  q.out = std::move(out);
  return q;
}

/// A circuit, its faults, and what they make of some questions.
struct Tried {
  Circuit circuit;
  std::vector<Fault> faults;

  explicit Tried(const std::string& text)
      : circuit(described(text)), faults(faults_of(circuit, known_types())) {}

  [[nodiscard]] int of(std::string_view id) const {
    for (std::size_t k = 0; k < faults.size(); ++k)
      if (faults[k].id == id) return static_cast<int>(k);
    FAIL("no fault '" << id << "'");
    return -1;
  }

  /// Of a question, with the faults of these ids built in.
  [[nodiscard]] Shown show(const Question& question, std::string_view id = "",
                           std::string_view second = "",
                           const Meter& meter = {}) const {
    Suspect suspect;
    if (!id.empty()) suspect.first = of(id);
    if (!second.empty()) suspect.second = of(second);
    return predict(circuit, meter, {question}, faults, {suspect}).at(0, 0);
  }
};

constexpr const char* kDivider = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = true }
r1 = { kind = "resistor", value = "1k", tolerance = "5%" }
r2 = { kind = "resistor", value = "1k", tolerance = "5%" }
[nets]
inlet = ["jack.plus", "r1.a"]
tap = ["r1.b", "r2.a"]
ground = ["jack.minus", "r2.b"]
)";

/// Loading by 10 Mohm moves a kilohm's voltage by no more than 1e-4.
constexpr double kLoaded = 1.3e-3;

}  // namespace

TEST_CASE("a divider with each of its faults", "[diagnose][predict][closed-form]") {
  const Tried divider(kDivider);
  const auto tap = [&divider](std::string_view id) {
    CAPTURE(id);
    return divider.show(volts("tap"), id).value;
  };
  CHECK_THAT(tap(""), WithinAbs(6.0, kLoaded));
  CHECK_THAT(tap("open r1"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(tap("joint r1.a"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(tap("open r2"), WithinAbs(12.0, kLoaded));
  CHECK_THAT(tap("short r1"), WithinAbs(12.0, kLoaded));
  CHECK_THAT(tap("short r2"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(tap("bridge tap ground"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(tap("value r1 10"), WithinAbs(12.0 / 11.0, kLoaded));
  CHECK_THAT(tap("value r1 0.1"), WithinAbs(12.0 / 1.1, kLoaded));
  CHECK_THAT(tap("value r2 next"), WithinAbs(12.0 * 1.2 / 2.2, kLoaded));
  CHECK_THAT(tap("supply jack absent"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(tap("supply jack reversed"), WithinAbs(-6.0, kLoaded));
  CHECK_THAT(tap("supply jack low"), WithinAbs(4.5, kLoaded));
  // 17 V behind 48 ohm (16.8 V without load, 12 V at 100 mA).
  CHECK_THAT(tap("supply jack unregulated"),
             WithinAbs(16.8 * 1000.0 / 2048.0, kLoaded));
  // With its minus free no current flows.
  CHECK_THAT(tap("ground jack"), WithinAbs(0.0, kLoaded));
  CHECK_THAT(divider.show(volts("tap"), "value r1 10", "value r2 10").value,
             WithinAbs(6.0, kLoaded * 10.0));
  CHECK_THAT(divider.show(volts("inlet", "steady", "tap")).value,
             WithinAbs(6.0, kLoaded));
  // Strays of 1e11 ohm at both nets draw 3e-8 of it.
  CHECK_THAT(divider.show(amps("jack")).value, WithinRel(6e-3, 1e-7));
  CHECK_THAT(divider.show(amps("r2"), "short r1").value, WithinRel(12e-3, 2e-5));
}

TEST_CASE("the meter loads what it measures", "[diagnose][predict][closed-form]") {
  std::string text = kDivider;
  for (std::size_t at = 0; (at = text.find("1k", at)) != std::string::npos;)
    text.replace(at, 2, "1M");
  const Tried divider(text);
  // Half of 1 Mohm behind 10 Mohm. Strays of 1e11 ohm shift that by 5e-6.
  CHECK_THAT(divider.show(volts("tap")).value, WithinRel(6.0 * 10.0 / 10.5, 1e-5));
  Meter cheap;
  cheap.input_ohms = 1e6;
  CHECK_THAT(divider.show(volts("tap"), "", "", cheap).value,
             WithinRel(6.0 / 1.5, 1e-5));
  // What is seen between two nets is loaded by the same meter, once.
  CHECK_THAT(divider.show(volts("inlet", "steady", "tap")).value,
             WithinRel(6.0 * 10.0 / 10.5, 1e-5));
}

TEST_CASE("a net behind a junction that blocks shows what the meter draws",
          "[diagnose][predict][closed-form]") {
  const Tried string(R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = true }
r = { kind = "resistor", value = "1k" }
d = { kind = "diode", drop = "0.7 V" }
door = { kind = "switch" }
[nets]
inlet = ["jack.plus", "r.a"]
mid = ["r.b", "d.anode"]
tail = ["d.cathode", "door.a"]
ground = ["jack.minus", "door.b"]
[states.shut]
door = "closed"
[states.ajar]
)");
  // 1.13 uA through drop and resistor; the open switch's 1e9 ohm is 1 % of the meter's.
  CHECK_THAT(string.show(volts("tail", "ajar")).value,
             WithinAbs(11.3 * 1e7 / (1e7 + 1e3), 2e-3));
  CHECK_THAT(string.show(volts("tail", "ajar"), "open d").value, WithinAbs(0.0, 2e-3));
  CHECK_THAT(string.show(volts("tail", "shut"), "open door").value,
             WithinAbs(11.3, 3e-3));
  CHECK_THAT(string.show(amps("jack", "shut")).value, WithinRel(11.3e-3, 1e-4));
}

TEST_CASE("the spread follows from slopes, tolerances and the meter",
          "[diagnose][predict][closed-form]") {
  const Tried divider(kDivider);
  // Uniform within 5 %: 0.05 / sqrt(3). At the tap each resistor counts 3 V for its
  // share, the supply 6 V; the meter is off by 0.5 % and 20 mV at most.
  const double each = 0.05 / std::sqrt(3.0);
  const double meter = (0.005 * 6.0 + 0.02) / std::sqrt(3.0);
  const double expected = std::sqrt((9.0 + 9.0 + 36.0) * each * each + meter * meter);
  CHECK_THAT(divider.show(volts("tap")).sigma, WithinRel(expected, 2e-4));
  // Across one resistor of ten times the value: it is off by ten times as much, in ohm.
  const double at_ten = (0.01 * 10e3 + 0.5) / std::sqrt(3.0);
  CHECK_THAT(divider.show(off(Asks::resistance, "tap"), "value r2 10").sigma,
             WithinRel(std::hypot(10e3 * each, at_ten), 1e-3));
  PredictOptions plain;
  plain.spread = false;
  CHECK_THAT(predict(divider.circuit, {}, {volts("tap")}, divider.faults, {{}}, plain)
                 .at(0, 0)
                 .sigma,
             WithinRel(meter, 1e-7));
}

TEST_CASE("a capacitor's spread moves nothing at rest", "[diagnose][predict]") {
  // Past an open resistor the lamp's net hangs on the meter alone: 0 V, as sure as the
  // meter is.
  std::ifstream file(BENCHPROOF_SOURCE_DIR "/circuits/harbour-light.toml");
  const Tried harbour(std::string(std::istreambuf_iterator<char>(file), {}));
  const Shown shown = harbour.show(volts("quay1", "night"), "joint quay1_r.b");
  CHECK_THAT(shown.value, WithinAbs(0.0, 1e-6));
  CHECK_THAT(shown.sigma, WithinRel(0.02 / std::sqrt(3.0), 1e-6));
}

TEST_CASE("a fault that does nothing at rest hides no other one",
          "[diagnose][predict][closed-form]") {
  std::string text = kDivider;
  text.replace(text.find("[nets]"), 0,
               "c = { kind = \"capacitor\", value = \"1uF\" }\n");
  text.replace(text.find("\"r2.a\""), 0, "\"c.a\", ");
  text.replace(text.find("\"r2.b\""), 0, "\"c.b\", ");
  const Tried divider(text);
  for (const char* id : {"open c", "joint c.a", "value c 10"}) {
    CAPTURE(id);
    const double tap = divider.show(volts("tap"), id, "value r2 10").value;
    CHECK_THAT(tap, WithinAbs(12.0 * 10.0 / 11.0, kLoaded));
    const double ohms =
        divider.show(off(Asks::resistance, "tap"), "value r2 10", id).value;
    CHECK_THAT(ohms, WithinRel(10e3, 1e-6));
  }
}

TEST_CASE("two faults that touch different parts change what each of them does",
          "[diagnose][predict]") {
  std::ifstream file(BENCHPROOF_SOURCE_DIR "/circuits/harbour-light.toml");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const Tried demo(text);
  const std::vector<Condition> conditions =
      conditions_of(demo.circuit, all_questions(demo.circuit), false);
  const Builder builder(demo.circuit, conditions);
  std::vector<Build> builds;
  for (const Fault& fault : demo.faults) {
    const Fault* one[] = {&fault};
    builds.push_back(builder.build(one));
  }
  // Every pair takes a minute with sanitizers.
  constexpr std::size_t kOneOf = BENCHPROOF_SANITIZED ? 211 : 11;
  std::size_t place = 0;
  std::size_t apart = 0;
  std::size_t wrong = 0;
  for (std::size_t a = 0; a < builds.size(); ++a)
    for (std::size_t b = a + 1; b < builds.size(); ++b) {
      if (++place % kOneOf != 0) continue;
      const Fault* two[] = {&demo.faults[a], &demo.faults[b]};
      const Build both = builder.build(two);
      for (std::size_t c = 0; c < conditions.size(); ++c) {
        if (!Builder::are_apart(builds[a], builds[b], c)) continue;
        ++apart;
        const bool is_sum = both.changes[c].name ==
                            builds[a].changes[c].name + builds[b].changes[c].name;
        wrong += is_sum ? 0 : 1;
        if (!is_sum) UNSCOPED_INFO(demo.faults[a].id << " + " << demo.faults[b].id);
      }
    }
  CHECK(apart > (BENCHPROOF_SANITIZED ? 300 : 5000));
  CHECK(wrong == 0);
}

TEST_CASE("pins of a chip are expected in the middle between weak and strong",
          "[diagnose][predict][closed-form]") {
  // The class of controllers is described by its weakest pins, for the sake of safety.
  const Tried pin(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["out"] }
load = { kind = "resistor", value = "1k" }
[nets]
rail = ["jack.plus", "chip.vdd"]
out = ["chip.out", "load.a"]
ground = ["jack.minus", "chip.vss", "load.b"]
[states.lit]
"chip.out" = "high"
)");
  double ohms = 0.0;
  for (const Spread& spread : spreads_of(pin.circuit))
    if (spread.target == "chip.resistance_high")
      ohms = 0.5 * (spread.least + spread.most);
  REQUIRE(ohms > 0.0);
  // The meter's 10 Mohm take 1e-5 of it.
  CHECK_THAT(pin.show(volts("out", "lit")).value,
             WithinRel(5.0 * 1000.0 / (1000.0 + ohms), 3e-5));
}

TEST_CASE("what sheets bound is expected below the bound", "[diagnose][predict]") {
  // A pin that is open may leak 1 uA (PIC12F629/675 DS41190E, in reference/parts):
  // through 100 kohm that is 0.1 V, and most pins show 0 V (5 nA, memory). Of a chip's
  // own 5 mA and a 7805's 8 mA (4.2 mA typical, L7805 data sheet from memory) the meter
  // may show half.
  const Tried chip(R"(
[parts]
jack = { kind = "dc-supply", voltage = "9 V", current = "1 A", regulated = true }
reg  = { kind = "regulator", type = "7805" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["out"] }
load = { kind = "resistor", value = "100k" }
[nets]
raw = ["jack.plus", "reg.in"]
rail = ["reg.out", "chip.vdd"]
out = ["chip.out", "load.a"]
ground = ["jack.minus", "reg.common", "chip.vss", "load.b"]
[states.waking]
"chip.out" = "open"
)");
  const Shown out = chip.show(volts("out", "waking"));
  CHECK_THAT(out.value, WithinAbs(0.0, 2.0 * out.sigma));
  CHECK(out.value < 0.02);
  const Shown own = chip.show(amps("jack", "waking"), "joint chip.vdd");
  CHECK_THAT(own.value, WithinAbs(4.2e-3, 2.0 * own.sigma));
  CHECK(own.sigma < 3e-3);
  const Shown both = chip.show(amps("jack", "waking"));
  CHECK_THAT(both.value - own.value, WithinAbs(3e-3, 2.0 * both.sigma));
}

TEST_CASE("the gain of a transistor that works in reverse is not known",
          "[diagnose][predict]") {
  // With collector and emitter exchanged sheets promise nothing: 0.1 to 20 of small
  // types (memory). With 1 mA into the base its collector's current may be anything.
  const Tried stage(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "100 mA", regulated = true }
base_r = { kind = "resistor", value = "470k", tolerance = "1%" }
load = { kind = "resistor", value = "10k", tolerance = "1%" }
driver = { kind = "transistor", type = "BC547" }
[nets]
rail = ["jack.plus", "base_r.a", "load.a"]
base = ["base_r.b", "driver.base"]
out = ["load.b", "driver.collector"]
ground = ["jack.minus", "driver.emitter"]
)");
  const Shown out =
      stage.show(volts("out"), "exchanged driver.collector driver.emitter");
  // A base current of 9 uA, times 1 and a deviation of as much, over 10 kohm.
  CHECK(out.sigma > 0.05);
}

TEST_CASE("what is shorted as built and open as meant is measured",
          "[diagnose][predict]") {
  // Beside a regulator everything is measured twice: as meant one of the two was
  // "open", with nothing to scatter.
  std::ifstream file(BENCHPROOF_SOURCE_DIR "/circuits/supply-two-rails.toml");
  const Tried rails(std::string(std::istreambuf_iterator<char>(file), {}));
  CHECK_THAT(rails.show(off(Asks::resistance, "raw_n"), "bridge raw_n ground").value,
             WithinRel(kShortOhms, 1e-3));
}

TEST_CASE("a pair scatters as the fault whose figure it shows", "[diagnose][predict]") {
  const std::vector<Question> questions(1);
  Predictions two(questions, {{0, 1}});
  Shown one;
  one.value = 0.0;
  one.sigma = 0.01;
  Shown other;
  other.value = 5.0;
  other.sigma = 0.2;
  const auto alone = [&](std::size_t fault, std::size_t) -> const Shown& {
    return fault == 0 ? one : other;
  };
  const auto sigma_at = [&](double value) {
    Shown both;
    both.value = value;
    both.sigma = 0.005;
    two.put(0, 0, both);
    widen_pairs(two, alone);
    return two.at(0, 0).sigma;
  };
  CHECK(sigma_at(0.0) == 0.01);
  CHECK(sigma_at(5.0) == 0.2);
  CHECK(sigma_at(2.5) == 0.2);  // The wider one, where it shows neither.
}

TEST_CASE("resistances of the unpowered circuit", "[diagnose][predict][closed-form]") {
  const Tried divider(kDivider);
  const auto ohms = [&divider](std::string_view id, const char* net,
                               const char* to = "") {
    return divider.show(off(Asks::resistance, net, to), id);
  };
  // The supply is unplugged: nothing leads past it.
  CHECK_THAT(ohms("", "tap").value, WithinRel(1000.0, 1e-6));
  CHECK_THAT(ohms("", "inlet").value, WithinRel(2000.0, 1e-6));
  CHECK_THAT(ohms("", "inlet", "tap").value, WithinRel(1000.0, 1e-6));
  CHECK_THAT(ohms("value r2 0.1", "inlet").value, WithinRel(1100.0, 1e-6));
  CHECK(ohms("open r2", "tap").open);
  CHECK(std::isinf(ohms("open r2", "tap").value));
  CHECK(ohms("joint r2.b", "inlet").open);
  CHECK_THAT(ohms("short r2", "tap").value, WithinRel(kShortOhms, 2e-5));
  // Under power a resistance is not to be measured.
  Question powered = volts("tap");
  powered.asks = Asks::resistance;
  CHECK(std::isnan(divider.show(powered).value));
}

TEST_CASE("the diode test drives a milliampere", "[diagnose][predict][closed-form]") {
  const Tried string(R"(
ambient = "27 C"
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = true }
r = { kind = "resistor", value = "10k" }
d = { kind = "diode", model = { is = 1e-9, n = 2 } }
[nets]
inlet = ["jack.plus", "r.a"]
mid = ["r.b", "d.anode"]
ground = ["jack.minus", "d.cathode"]
)");
  // Shockley's law at 300.15 K, k T / q = 25.8649 mV [CODATA 2018]; the current falls
  // by a thirtieth of a volt's share, as the meter's source is 30 V behind 30 kohm.
  double v = 0.7;
  for (int k = 0; k < 50; ++k)
    v = 2.0 * 0.0258649 * std::log1p(1e-3 * (1.0 - v / 30.0) / 1e-9);
  CHECK_THAT(string.show(off(Asks::diode, "mid")).value, WithinAbs(v, 1e-5));
  CHECK_THAT(string.show(off(Asks::diode, "ground", "mid"), "reversed d").value,
             WithinAbs(v, 1e-5));
  CHECK(string.show(off(Asks::diode, "ground", "mid")).open);
  CHECK(string.show(off(Asks::diode, "mid"), "open d").open);
  CHECK(string.show(off(Asks::diode, "mid"), "reversed d").open);
}

TEST_CASE("a supply gives what it can, and no more", "[diagnose][predict]") {
  const Tried divider(kDivider);
  // 1.3 times 100 mA (see supply_limit) through 10 mohm.
  CHECK_THAT(divider.show(amps("jack"), "bridge inlet ground").value,
             WithinRel(0.13, 1e-3));
  CHECK_THAT(divider.show(volts("inlet"), "bridge inlet ground").value,
             WithinAbs(0.13 * kShortOhms, 1e-5));
  const Tried ideal(R"(
[parts]
a = { kind = "voltage-source", voltage = "12 V" }
d = { kind = "diode", drop = "0.7 V" }
r = { kind = "resistor", value = "1k" }
[nets]
inlet = ["a.plus", "d.cathode", "r.a"]
ground = ["a.minus", "d.anode", "r.b"]
)");
  // A textbook's source across a textbook's diode has no limit: nothing can be told.
  CHECK(std::isnan(ideal.show(volts("inlet"), "reversed d").value));
  CHECK_THAT(ideal.show(volts("inlet")).value, WithinAbs(12.0, 1e-6));
}

TEST_CASE("PWM is shown as its average", "[diagnose][predict]") {
  const Tried chip(R"(
[parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "100 mA", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
r = { kind = "resistor", value = "1k" }
[nets]
rail = ["jack.plus", "chip.vdd"]
quay = ["chip.quay", "r.a"]
ground = ["jack.minus", "chip.vss", "r.b"]
[states.on]
"chip.quay" = "high"
[states.fades]
"chip.quay" = { pwm = "30%", frequency = "500 Hz" }
[states.off]
)");
  const double on = chip.show(volts("quay", "on")).value;
  CHECK_THAT(chip.show(volts("quay", "fades")).value, WithinRel(0.3 * on, 1e-4));
  // Stuck, it is what it is stuck at, whatever the state.
  CHECK_THAT(chip.show(volts("quay", "fades"), "stuck chip.quay high").value,
             WithinRel(on, 1e-9));
  CHECK_THAT(chip.show(volts("quay", "on"), "blank chip").value, WithinAbs(0.0, 1e-3));
  // Out of its socket it leaves the resistor alone, in it whatever a dead chip does.
  CHECK_THAT(chip.show(off(Asks::resistance, "quay", "", {"chip"})).value,
             WithinRel(1000.0, 1e-6));
  CHECK(chip.show(off(Asks::resistance, "rail", "", {"chip"})).open);
  CHECK(std::isnan(chip.show(off(Asks::resistance, "rail")).value));
  CHECK_THAT(chip.show(off(Asks::resistance, "rail"), "short chip.vdd chip.vss").value,
             WithinRel(kShortOhms, 1e-3));
}

TEST_CASE("what shows the same everywhere is one class", "[diagnose][predict]") {
  const Tried divider(kDivider);
  const Predictions all = predict(divider.circuit, {}, all_questions(divider.circuit),
                                  divider.faults, singles(divider.faults.size()));
  const auto members = all.classes();
  const auto class_of = [&](std::string_view id) {
    const auto fault = static_cast<std::size_t>(divider.of(id)) + 1;
    for (std::size_t k = 0; k < members.size(); ++k)
      if (std::find(members[k].begin(), members[k].end(), fault) != members[k].end())
        return k;
    return members.size();
  };
  CHECK(class_of("open r1") == class_of("joint r1.a"));
  CHECK(class_of("open r1") == class_of("joint r1.b"));
  CHECK(class_of("short r2") == class_of("bridge tap ground"));
  CHECK(class_of("open r1") != class_of("open r2"));
  CHECK(class_of("value r1 10") != class_of("value r1 0.1"));
  CHECK(members.front().front() == 0);
}

TEST_CASE("any number of threads gives the same, and a pair has no order",
          "[diagnose][predict]") {
  const Tried divider(kDivider);
  const auto questions = all_questions(divider.circuit);
  const std::size_t count = divider.faults.size();
  PredictOptions one;
  one.threads = 1;
  PredictOptions two;
  two.threads = 2;
  const Predictions a =
      predict(divider.circuit, {}, questions, divider.faults, pairs(count), one);
  const Predictions b =
      predict(divider.circuit, {}, questions, divider.faults, pairs(count), two);
  std::vector<Suspect> turned = pairs(count);
  for (Suspect& s : turned) std::swap(s.first, s.second);
  const Predictions c =
      predict(divider.circuit, {}, questions, divider.faults, turned, one);
  std::size_t apart = 0;
  for (std::size_t k = 0; k < a.suspects().size(); ++k) {
    for (std::size_t q = 0; q < questions.size(); ++q) {
      const auto same = [](double x, double y) {
        return x == y || (std::isnan(x) && std::isnan(y));
      };
      apart += !same(a.at(k, q).value, b.at(k, q).value);
      apart += !same(a.at(k, q).sigma, b.at(k, q).sigma);
      apart += a.at(k, q).open != b.at(k, q).open;
      apart += a.at(k, q).looks != b.at(k, q).looks;
      apart += a.at(k, q).looks_sure != b.at(k, q).looks_sure;
      const Fault& first = divider.faults[a.suspects()[k].first];
      const Fault& second = divider.faults[a.suspects()[k].second];
      // Of two that concern the same part the later one meets what the first left.
      if (first.parts == second.parts || first.parts.empty() || second.parts.empty())
        continue;
      apart += !same(a.at(k, q).value, c.at(k, q).value) &&
               std::abs(a.at(k, q).value - c.at(k, q).value) >
                   1e-6 + 1e-6 * std::abs(a.at(k, q).value);
    }
  }
  CHECK(apart == 0);
}

TEST_CASE("questions that name nothing are not answered", "[diagnose][predict]") {
  const Tried divider(kDivider);
  CHECK(std::isnan(divider.show(volts("tab")).value));
  CHECK(std::isnan(divider.show(volts("tap", "night")).value));
  CHECK(std::isnan(divider.show(amps("r3")).value));
  CHECK(std::isnan(divider.show(off(Asks::resistance, "tap", "", {"chip"})).value));
  CHECK_THROWS_AS(
      predict(divider.circuit, {}, {volts("tap")}, divider.faults, {{1000, -1}}),
      std::invalid_argument);
}

TEST_CASE("a cold filament shows a fraction of its resistance at work",
          "[diagnose][predict]") {
  // 12 V and 50 mA are 240 ohm; cold it has a fifteenth to a sixth of it (common
  // practice, no source).
  const Tried lamp(R"([parts]
s = { kind = "dc-supply", voltage = "12 V", current = "1 A", regulated = true }
r = { kind = "resistor", value = "10R", power = "1 W" }
l = { kind = "lamp", voltage = "12 V", current = "50 mA" }
[nets]
rail = ["s.plus", "r.a"]
lit = ["r.b", "l.a"]
ground = ["s.minus", "l.b"]
)");
  const Shown cold = lamp.show(off(Asks::resistance, "lit"));
  REQUIRE_FALSE(cold.open);
  CHECK(cold.value - 1.5 * cold.sigma < 240.0 / 15.0);
  CHECK(cold.value + 2.0 * cold.sigma > 240.0 / 6.0);
  CHECK(cold.value + 3.0 * cold.sigma < 120.0);
  CHECK(lamp.show(off(Asks::resistance, "lit"), "open l").open);
}
