#include <algorithm>
#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "tests/unit/circuit/known_parts.h"

// How [[runs]] and what is expected of them are read. What is refused, and where, is in
// tests/diagnostics/run-*.toml and expect-run.toml.

using namespace benchproof;
using benchproof::known_types;

namespace {

const std::string kRunPier = R"(
[parts]
jack = { kind = "dc-supply", voltage = "12 V" }
load = { kind = "resistor", value = "1k" }
amp  = { kind = "transistor", type = "BC547", power = "500 mW" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
cell = { kind = "battery", chemistry = "alkaline", size = "AA" }

[nets]
rail   = ["jack.plus", "load.a", "amp.collector"]
side   = ["cell.plus", "chip.vdd"]
ground = ["jack.minus", "load.b", "amp.base", "amp.emitter", "cell.minus", "chip.vss"]
open   = ["chip.quay"]

[states.night]
[states.day]
"jack.voltage" = "9 V"
"cell.charge" = "half"
"load.value" = "2k2"
"chip.quay" = { pwm = "50%", frequency = "1 kHz" }
[states.fallen]
steady = false
"jack.voltage" = "1 V"
)";

ReadResult read(const std::string& rest, const Limits& limits = {}) {
  return read_circuit(kRunPier + rest, "pier.toml", known_types(), {}, limits);
}

Circuit read_good_runs(const std::string& rest, const Limits& limits = {}) {
  ReadResult result = read(rest, limits);
  std::string told;
  for (const Diagnostic& d : result.diagnostics)
    told += to_text(d, "pier.toml", kRunPier + rest);
  INFO(told);
  REQUIRE(result.circuit.has_value());
  return *result.circuit;
}

/// "id: message (hint)" of the one complaint.
std::string only(const std::string& rest, const Limits& limits = {}) {
  const ReadResult result = read(rest, limits);
  std::string told;
  for (const Diagnostic& d : result.diagnostics)
    told += d.id + ": " + d.message + (d.hint.empty() ? "" : " (" + d.hint + ")");
  CHECK(result.diagnostics.size() == 1);
  CHECK_FALSE(result.circuit.has_value());
  return told;
}

const std::string kPowerUp = R"(
[[runs]]
name = "power up"
state = "night"
span = "200 ms"
)";

std::vector<Expectation> expected(const std::string& demand) {
  return read_good_runs(kPowerUp + "[[expect]]\nrun = \"power up\"\n" + demand)
      .expectations;
}

Expectation one_expected(const std::string& demand) {
  const std::vector<Expectation> list = expected(demand);
  REQUIRE(list.size() == 1);
  CHECK(list[0].run == 0);
  CHECK(list[0].state.empty());
  return list[0];
}

}  // namespace

TEST_CASE("a run that names a state alone is one step from unpowered",
          "[reader][runs]") {
  const Circuit circuit = read_good_runs(kPowerUp);
  REQUIRE(circuit.runs.size() == 1);
  const Run& run = circuit.runs[0];
  CHECK(run.name == "power up");
  CHECK(run.from == kUnpowered);
  CHECK(run.seconds == 0.2);
  CHECK(run.span.begin.line == 25);
  REQUIRE(run.steps.size() == 1);
  CHECK(run.steps[0].at == 0.0);
  CHECK(run.steps[0].state == 0);
  CHECK(run.steps[0].rise == 1e-3);
  CHECK(run.steps[0].span.begin.line == 27);
}

TEST_CASE("a run's steps, beginnings and rises", "[reader][runs]") {
  const Circuit circuit =
      read_good_runs(R"(
[[runs]]
name = "a dip, and back again!"
from = "night"
steps = [
  { at = "20 ms", state = "fallen", rise = "500 us" },
  { at = "40 ms", state = "unpowered" },
  { at = "60 ms", state = "day", rise = "1 s" },
]
span = "3600 s"

[[runs]]
name = "charged"
from = "initial"
state = "unpowered"
rise = "1 ns"
span = "1 us"
)",
                     {.pwm_corners = 20'000'000, .all_corners = 20'000'000});
  REQUIRE(circuit.runs.size() == 2);
  const Run& dip = circuit.runs[0];
  CHECK(dip.from == 0);
  REQUIRE(dip.steps.size() == 3);
  CHECK(dip.steps[0].at == 0.02);
  CHECK(dip.steps[0].state == 2);
  CHECK(dip.steps[0].rise == 0.0005);
  CHECK(dip.steps[1].state == kUnpowered);
  CHECK(dip.steps[1].rise == 1e-3);
  CHECK(dip.steps[2].at == 0.06);
  CHECK(dip.steps[2].state == 1);
  CHECK(dip.steps[2].rise == 1.0);
  const Run& charged = circuit.runs[1];
  CHECK(charged.from == kFromInitial);
  CHECK(charged.steps.at(0).state == kUnpowered);
  CHECK(charged.steps.at(0).rise == 1e-9);
  CHECK(charged.seconds == 1e-6);
}

TEST_CASE("without runs there are none, with an empty list too", "[reader][runs]") {
  CHECK(read_good_runs("").runs.empty());
  ReadResult result =
      read_circuit("runs = []\n" + kRunPier, "pier.toml", known_types(), {}, {});
  REQUIRE(result.circuit.has_value());
  CHECK(result.circuit->runs.empty());
}

TEST_CASE("without states a run enters the one that there is", "[reader][runs]") {
  const ReadResult result = read_circuit(
      "[parts]\nfeed = { kind = \"dc-supply\", voltage = \"5 V\" }\n"
      "load = { kind = \"resistor\", value = \"1k\" }\n[nets]\n"
      "rail = [\"feed.plus\", \"load.a\"]\nground = [\"feed.minus\", \"load.b\"]\n"
      "[[runs]]\nname = \"up\"\nstate = \"steady\"\nspan = \"1 s\"\n",
      "some.toml", known_types());
  REQUIRE(result.circuit.has_value());
  CHECK(result.circuit->runs.at(0).steps.at(0).state == 0);
}

TEST_CASE("a level crossed, in volts of a net", "[reader][runs]") {
  const Expectation e = one_expected(R"(
net = "rail"
to = "side"
reaches = { level = "-4.5 V", before = "60 ms", not-before = "1 ms", direction = "falling" }
source = "a sheet"
why = "it must"
)");
  CHECK(e.net >= 0);
  CHECK(e.to >= 0);
  CHECK(e.quantity == Quantity::voltage);
  CHECK(e.source == "a sheet");
  CHECK(e.why == "it must");
  CHECK_FALSE(e.stays);
  REQUIRE(e.reaches);
  CHECK(e.reaches->level == -4.5);
  CHECK_FALSE(e.reaches->rising);
  CHECK(e.reaches->before == 0.06);
  CHECK(e.reaches->not_before == 0.001);

  const Expectation plain =
      one_expected("net = \"rail\"\nreaches = { level = \"1 V\" }");
  CHECK(plain.reaches->rising);
  CHECK_FALSE(plain.reaches->before);
  CHECK_FALSE(plain.reaches->not_before);
}

TEST_CASE("a level's unit says which quantity of a part is meant", "[reader][runs]") {
  const Expectation amps =
      one_expected("part = \"load\"\nreaches = { level = \"2 mA\" }");
  CHECK(amps.quantity == Quantity::current);
  CHECK(amps.reaches->level == 0.002);
  const Expectation watts =
      one_expected("part = \"amp\"\nstays = { below = \"0.3 W\" }");
  CHECK(watts.quantity == Quantity::power);
  CHECK(watts.stays->below == 0.3);
  const Expectation volts =
      one_expected("part = \"load\"\nstays = { above = \"1 V\", below = \"13 V\" }");
  CHECK(volts.quantity == Quantity::voltage);
  CHECK(volts.stays->above == 1.0);
  const Expectation pin =
      one_expected("part = \"amp\"\npin = \"base\"\nstays = { below = \"1 mA\" }");
  CHECK(pin.quantity == Quantity::current);
  CHECK(pin.pin == 0);
}

TEST_CASE("what stays, from when until when", "[reader][runs]") {
  const Expectation e = one_expected(R"(
net = "rail"
stays = { above = "4.3 V", after = "60 ms", until = "200 ms" }
)");
  REQUIRE(e.stays);
  CHECK(e.stays->above == 4.3);
  CHECK_FALSE(e.stays->below);
  CHECK(e.stays->after == 0.06);
  CHECK(e.stays->until == 0.2);
  const Expectation whole =
      one_expected("net = \"rail\"\nstays = { below = \"13 V\" }");
  CHECK(whole.stays->after == 0.0);
  CHECK_FALSE(whole.stays->until);
}

TEST_CASE("reaches and stays in one table are two expectations", "[reader][runs]") {
  const auto list = expected(R"(
net = "rail"
reaches = { level = "4.5 V", before = "60 ms" }
stays = { above = "4.3 V", after = "60 ms" }
)");
  REQUIRE(list.size() == 2);
  CHECK(list[0].reaches);
  CHECK_FALSE(list[0].stays);
  CHECK(list[1].stays);
  CHECK_FALSE(list[1].reaches);
  CHECK(list[0].net == list[1].net);
  CHECK(list[0].span == list[1].span);
}

TEST_CASE("bounds at a time, or of a figure", "[reader][runs]") {
  const Expectation at = one_expected(
      "net = \"rail\"\nat = \"50 ms\"\nvoltage = { nominal = \"5 V\", within = \"4%\" "
      "}");
  CHECK(at.figure == RunFigure::at);
  CHECK(at.at == 0.05);
  CHECK(at.least == 4.8);
  CHECK(at.most == 5.2);
  for (const auto& [word, figure] :
       {std::pair{"average", RunFigure::average},
        std::pair{"ripple", RunFigure::ripple}, std::pair{"peak", RunFigure::peak},
        std::pair{"least", RunFigure::least}}) {
    CAPTURE(word);
    const Expectation e =
        one_expected("part = \"load\"\nafter = \"10 ms\"\nfigure = \"" +
                     std::string(word) + "\"\ncurrent = { max = \"12 mA\" }");
    CHECK(e.figure == figure);
    CHECK(e.after == 0.01);
    CHECK(e.quantity == Quantity::current);
    CHECK(e.most == 0.012);
    CHECK_FALSE(e.least);
  }
  CHECK(one_expected("net = \"rail\"\nfigure = \"peak\"\nvoltage = { max = \"13 V\" }")
            .after == 0.0);
}

TEST_CASE("runs and expectations at rest stand side by side", "[reader][runs]") {
  const Circuit circuit = read_good_runs(kPowerUp + R"(
[[expect]]
net = "rail"
voltage = { min = "5 V" }
[[expect]]
run = "power up"
net = "rail"
reaches = { level = "5 V" }
)");
  REQUIRE(circuit.expectations.size() == 2);
  CHECK(circuit.expectations[0].run == -1);
  CHECK(circuit.expectations[1].run == 0);
}

TEST_CASE("complaints about runs read well", "[reader][runs]") {
  CHECK(only(kPowerUp + "[[expect]]\nrun = \"power-up\"\nnet = \"rail\"\n"
                        "reaches = { level = \"4 V\" }\n") ==
        "run-unknown: there is no run 'power-up' (did you mean 'power up'? runs: power "
        "up)");
  CHECK(only("[[expect]]\nrun = \"up\"\nnet = \"rail\"\n"
             "reaches = { level = \"4 V\" }\n") == "run-unknown: there is no run 'up'");
  CHECK(only(kPowerUp + "[[expect]]\nrun = \"power up\"\nnet = \"rail\"\n"
                        "reaches = { level = \"4 V\", before = \"1 s\" }\n") ==
        "run-time: 'before' is 1.00 s (the run lasts from 0 to 200 ms)");
  CHECK(only(kPowerUp + "[[expect]]\nrun = \"power up\"\nnet = \"rail\"\n"
                        "stays = { above = \"4 V\", after = \"0.2 s\" }\n") ==
        "expect-bounds: 'after' 200 ms leaves no time before the run's end at 200 ms");
  CHECK(only("[[runs]]\nname = \"x\"\nstate = \"nigth\"\nspan = \"1 s\"\n") ==
        "state-unknown: there is no state 'nigth' (did you mean 'night'? states: "
        "unpowered, night, day, fallen)");
  CHECK(only("[states.odd]\n\"amp.power\" = \"1 W\"\n[[runs]]\nname = \"x\"\n"
             "from = \"night\"\nstate = \"odd\"\nspan = \"1 s\"\n") ==
        "run-fixed: 'amp.power' is 500 mW in state 'night' and 1.00 W in state 'odd', "
        "but cannot change within run 'x' (within a run only outputs, switches, "
        "resistances, and voltages and currents of supplies and sources change)");
}

TEST_CASE("an expectation of a run that was refused is not told again",
          "[reader][runs]") {
  const std::string expect =
      "[[expect]]\nrun = \"power up\"\nnet = \"rail\"\nreaches = { level = \"4 V\", "
      "before = \"1 s\" }\n";
  // The run is known, its length is not.
  CHECK_THAT(only("[[runs]]\nname = \"power up\"\nstate = \"night\"\n" + expect),
             Catch::StartsWith("key-missing: run 'power up' has no 'span'"));
  // A name that cannot be one, or is not there, may be any.
  CHECK_THAT(
      only("[[runs]]\nname = \"\"\nstate = \"night\"\nspan = \"1 s\"\n" + expect),
      Catch::StartsWith("name-invalid: '' cannot be the name of a run"));
  CHECK_THAT(only("[runs]\n" + expect), Catch::StartsWith("toml-type: 'runs' must be"));
}

TEST_CASE("limits of runs are told with their figure", "[reader][runs][limits]") {
  const std::string two =
      kPowerUp +
      "[[runs]]\nname = \"again\"\nsteps = [{ at = \"0 s\", state = \"day\" "
      "}, { at = \"1 s\", state = \"night\" }]\nspan = \"2 s\"\n";
  CHECK(read_good_runs(two, {.runs = 2, .steps = 2, .pwm_corners = 4000}).runs.size() ==
        2);
  CHECK(only(two, {.runs = 1}) == "too-large: there are 2 runs; 1 are allowed");
  CHECK(only(two, {.steps = 1}) ==
        "too-large: 'steps' of run 'again' has 2 steps; 1 are allowed");
  // 1 s of 1 kHz, and in each period two changes with a corner at either end.
  CHECK_THAT(
      only(two, {.pwm_corners = 3999}),
      Catch::StartsWith(
          "run-pwm: the PWM of run 'again' makes 4000 corners; 3999 are allowed"));
  std::string many;
  for (int k = 0; k < 201; ++k)
    many += "[[runs]]\nname = \"" + std::to_string(k) +
            "\"\nstate = \"night\"\nspan = \"1 s\"\n";
  CHECK(only(many) == "too-large: there are 201 runs; 200 are allowed");
}

TEST_CASE("a run's name is printable and not too long", "[reader][runs]") {
  const auto named = [](const std::string& name) {
    return "[[runs]]\nname = \"" + name + "\"\nstate = \"night\"\nspan = \"1 s\"\n";
  };
  CHECK(read_good_runs(named(std::string(64, 'x'))).runs[0].name.size() == 64);
  CHECK(read_good_runs(named("20 ms dip (~1/2)")).runs.size() == 1);
  for (const std::string& bad :
       {std::string(65, 'x'), std::string("a "), std::string("a\\tb"),
        std::string("a\\u007F"), std::string("M\xC3\xB6le")}) {
    CAPTURE(bad);
    CHECK_THAT(only(named(bad)), Catch::StartsWith("name-invalid"));
  }
}
