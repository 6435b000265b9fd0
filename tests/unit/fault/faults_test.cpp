// The list of faults, and each as an edit of the circuit.
#include <catch2/catch.hpp>
#include <filesystem>
#include <map>
#include <set>

#include "core/circuit/read/reader.h"
#include "core/fault/fault.h"
#include "tests/files.h"
#include "tests/known_types.h"

using namespace benchproof;

namespace {

Circuit described(const std::string& text) {
  ReadResult result = read_circuit(text, "fault.toml", known_types());
  std::string told;
  for (const Diagnostic& d : result.diagnostics) told += to_text(d, "fault.toml", text);
  INFO(told);
  REQUIRE(result.circuit);
  return std::move(*result.circuit);
}

const Fault& of(const std::vector<Fault>& faults, std::string_view id) {
  for (const Fault& fault : faults)
    if (fault.id == id) return fault;
  std::string all;
  for (const Fault& fault : faults) all += fault.id + "\n";
  FAIL("no fault '" << id << "' among\n" << all);
  return faults.front();
}

bool has(const std::vector<Fault>& faults, std::string_view id) {
  for (const Fault& fault : faults)
    if (fault.id == id) return true;
  return false;
}

/// The nets of a part's pins by name, "-" where one is open.
std::string wiring(const Circuit& circuit, std::string_view name) {
  std::string wires;
  for (const Part& part : circuit.parts) {
    if (part.name != name) continue;
    for (const int net : part.nets)
      wires += (wires.empty() ? "" : " ") +
               (net < 0 ? std::string("-") : circuit.nets[net].name);
  }
  return wires;
}

constexpr const char* kLantern = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "100 mA", regulated = true }
reg  = { kind = "regulator", type = "78L05" }
hold = { kind = "capacitor", value = "22uF", rated = "16 V", polarised = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["lantern", "quay"] }
base_r = { kind = "resistor", value = "1k" }
driver = { kind = "transistor", type = "BC547" }
lantern = { kind = "lamp", voltage = "12 V", current = "50 mA" }
quay_r = { kind = "resistor", value = "150R" }
quay = { kind = "led", colour = "red" }
door = { kind = "switch" }
[nets]
inlet = ["jack.plus", "reg.in", "lantern.a"]
rail = ["reg.out", "chip.vdd", "hold.plus", "door.a"]
open = ["door.b"]
out = ["chip.lantern", "base_r.a"]
base = ["base_r.b", "driver.base"]
lamp = ["lantern.b", "driver.collector"]
quay_p = ["chip.quay", "quay_r.a"]
quay_l = ["quay_r.b", "quay.anode"]
ground = ["jack.minus", "reg.common", "chip.vss", "hold.minus", "driver.emitter", "quay.cathode"]
[states.night]
"chip.lantern" = "high"
"chip.quay" = { pwm = "30%", frequency = "500 Hz" }
[states.bench]
"jack.voltage" = "9 V"
)";

Circuit lantern() { return described(kLantern); }

Circuit built(const Circuit& circuit, const Fault& fault) {
  Circuit there = circuit;
  build_in(there, fault);
  return there;
}

}  // namespace

TEST_CASE("ids are the mode's word and its subjects, and there is one of each",
          "[fault][list]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  std::set<std::string> ids;
  std::set<FaultMode> modes;
  for (const Fault& fault : faults) {
    CAPTURE(fault.id);
    CHECK(ids.insert(fault.id).second);
    CHECK(fault.id.starts_with(std::string(word_of(fault.mode)) + " "));
    CHECK(fault.weight > 0.0);
    CHECK_FALSE(fault.weight_source.empty());
    CHECK_FALSE(fault.words.empty());
    CHECK_FALSE(fault.remedy.empty());
    CHECK_FALSE(fault.edits.empty());
    modes.insert(fault.mode);
  }
  CHECK(modes.size() == fault_modes().size());
  CHECK(of(faults, "bridge inlet rail").words ==
        "solder bridge between 'inlet' and 'rail'");
  CHECK(of(faults, "joint base_r.b").words == "cold joint at base_r.b");
  CHECK(of(faults, "bridge rail ground").nets ==
        std::vector<std::string>{"rail", "ground"});
}

TEST_CASE("each fault changes the wiring or a value as its id says", "[fault][edit]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  const auto wires = [&](std::string_view id, std::string_view part) {
    CAPTURE(id);
    return wiring(built(circuit, of(faults, id)), part);
  };
  const auto value = [&](std::string_view id, std::size_t part, const char* key) {
    return number_of(built(circuit, of(faults, id)).parts[part], key).value_or(0.0);
  };
  CHECK(wires("open base_r", "base_r") == "- -");
  CHECK(wires("joint base_r.b", "base_r") == "out -");
  CHECK(wires("reversed hold", "hold") == "ground rail");
  CHECK(wires("exchanged driver.collector driver.emitter", "driver") ==
        "base ground lamp");
  CHECK(wires("exchanged driver.base driver.emitter", "driver") == "ground lamp base");
  CHECK(wires("exchanged reg.in reg.out", "reg") == "rail ground inlet");
  CHECK(wires("exchanged chip.lantern chip.quay", "chip") == "rail ground quay_p out");
  CHECK(wires("supply jack reversed", "jack") == "ground inlet");
  CHECK(wires("ground jack", "jack") == "inlet -");
  CHECK(wires("reversed chip", "chip") == "ground rail out quay_p");
  // The wire of one output on the next: that joins both nets, and leaves the pin bare.
  CHECK(wires("shifted chip.lantern chip.quay", "chip") == "rail ground - quay_p");
  CHECK(built(circuit, of(faults, "shifted chip.lantern chip.quay")).parts.size() ==
        circuit.parts.size() + 1);
  CHECK(built(circuit, of(faults, "short base_r")).parts.back().nets ==
        circuit.parts[4].nets);
  CHECK(value("value base_r 10", 4, "value") == 10e3);
  CHECK(value("value base_r 0.1", 4, "value") == 100.0);
  CHECK(value("value base_r next", 4, "value") == 1200.0);
  CHECK(value("value base_r last", 4, "value") == 820.0);
  CHECK(built(circuit, of(faults, "value driver BC557")).parts[5].type->name ==
        "BC557");
  CHECK_FALSE(has(faults, "value driver BC547"));
}

TEST_CASE("a supply that is low is so in every state", "[fault][edit]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  const Circuit low = built(circuit, of(faults, "supply jack low"));
  CHECK(number_of(parts_in(low, low.states[0])[0], "voltage") == 9.0);
  CHECK(number_of(parts_in(low, low.states[1])[0], "voltage") == 6.75);
  const Circuit loose = built(circuit, of(faults, "supply jack unregulated"));
  CHECK_FALSE(flag(loose.parts[0], "regulated", true));
  // 1.4 times 9 V.
  CHECK_THAT(number_of(parts_in(loose, loose.states[1])[0], "no_load").value_or(0.0),
             Catch::WithinRel(12.6, 1e-12));
}

TEST_CASE("an output that is stuck, or a chip without program, is so in every state",
          "[fault][edit]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  using Level = OutputSetting::Level;
  const Circuit stuck = built(circuit, of(faults, "stuck chip.quay high"));
  const Circuit blank = built(circuit, of(faults, "blank chip"));
  for (const State& state : stuck.states)
    CHECK(output(state, {3, 3}).level == Level::high);
  for (const State& state : blank.states)
    for (const int pin : {2, 3}) CHECK(output(state, {3, pin}).level == Level::open);
}

TEST_CASE("two faults go together, in whichever order", "[fault][edit]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  Circuit one = circuit;
  build_in(one, of(faults, "joint base_r.b"));
  build_in(one, of(faults, "value quay_r 10"));
  Circuit other = circuit;
  build_in(other, of(faults, "value quay_r 10"));
  build_in(other, of(faults, "joint base_r.b"));
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    CHECK(one.parts[k].nets == other.parts[k].nets);
  CHECK(number_of(one.parts[7], "value") == number_of(other.parts[7], "value"));
  // A part that is missing cannot be shorted.
  Circuit missing = circuit;
  build_in(missing, of(faults, "open base_r"));
  build_in(missing, of(faults, "short base_r"));
  CHECK(missing.parts.size() == circuit.parts.size());
}

TEST_CASE("leads are exchanged as the pinout tells", "[fault][pinouts]") {
  const Circuit circuit = lantern();
  const std::vector<Fault> faults = faults_of(circuit, known_types());
  // Turned round, the outer leads of collector, base, emitter change places; that is
  // what a 2N3904 in its place does, too.
  const Fault& turned = of(faults, "exchanged driver.collector driver.emitter");
  CHECK_THAT(turned.words, Catch::Contains("turned round"));
  // Japanese types have emitter, collector, base: all three leads are elsewhere, the
  // base where the emitter belongs.
  const Fault& moved = of(faults,
                          "exchanged driver.base driver.collector "
                          "driver.emitter back");
  CHECK(wiring(built(circuit, moved), "driver") == "ground base lamp");
  CHECK(turned.weight > of(faults, "exchanged driver.base driver.emitter").weight);
}

TEST_CASE("bridges are those of a board where it tells them", "[fault][bridge]") {
  const Circuit circuit = lantern();
  const auto count = [](const std::vector<Fault>& faults) {
    return std::count_if(faults.begin(), faults.end(),
                         [](const Fault& f) { return f.mode == FaultMode::bridge; });
  };
  const std::vector<Fault> faults = faults_of(circuit, known_types(), {{1, 2}, {2, 1}});
  CHECK(count(faults) == 1);
  CHECK(has(faults, "bridge inlet rail"));
  // Without a board: nets that share a part, and nets of neighbouring pins.
  const std::vector<Fault> usual = faults_of(circuit, known_types());
  CHECK(has(usual, "bridge out quay_p"));
  CHECK_FALSE(has(usual, "bridge inlet quay_l"));
}

TEST_CASE("faults of every template can be built in", "[fault][templates]") {
  namespace fs = std::filesystem;
  std::size_t circuits = 0;
  for (const auto& entry : fs::directory_iterator(BENCHPROOF_SOURCE_DIR "/circuits")) {
    const std::string path = entry.path().string();
    if (entry.path().extension() != ".toml" ||
        path.find(".recorded.") != std::string::npos)
      continue;
    const auto read = read_circuit(text_of(entry.path()), path, known_types());
    if (!read.circuit) continue;
    ++circuits;
    CAPTURE(path);
    std::set<std::string> ids;
    for (const Fault& fault : faults_of(*read.circuit, known_types())) {
      CAPTURE(fault.id);
      CHECK(ids.insert(fault.id).second);
      CHECK(built(*read.circuit, fault).parts.size() >= read.circuit->parts.size());
    }
    CHECK(ids.size() > 5);
  }
  CHECK(circuits > 35);
}
