// What parts become in runs: their capacitances, coils and limits. The figures of types
// are those of reference/parts; those told by nobody are common practice, no source,
// beside core/network/plan.cpp.
#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/circuit/circuit.h"
#include "core/network/lower.h"
#include "core/network/timeline.h"
#include "tests/unit/network/lowered.h"

namespace benchproof::test {
namespace {

/// One part `x` between net p and ground, behind a source and a resistor.
struct Both {
  Network rest;
  Network run;
};

Both both(const std::string& part, const std::string& plus, const std::string& minus) {
  const Lowered l = lowered(R"([parts]
s = { kind = "voltage-source", voltage = "12 V" }
r = { kind = "resistor", value = "1k" }
x = )" + part + R"(
[nets]
q = ["s.plus", "r.a"]
p = ["r.b", "x.)" + plus + R"("]
ground = ["s.minus", "x.)" + minus +
                            "\"]\n");
  const State state = phases(l.circuit, l.circuit.states.front()).front().state;
  return {lower(l.circuit, state), lower(l.circuit, state, nullptr, Purpose::run)};
}

}  // namespace

TEST_CASE("junctions have capacitances in runs, and only there", "[network][lower]") {
  const Both diode = both(R"({ kind = "diode", type = "1N4148" })", "anode", "cathode");
  CHECK(diode.rest.structure->strays.empty());
  REQUIRE(diode.run.structure->strays.size() == 1);
  CHECK(diode.run.values.stray_farads[0] == Approx(4e-12));
  CHECK(diode.run.values.diodes == diode.rest.values.diodes);

  const Both told = both(R"({ kind = "diode", model = { is = 1e-12, cjo = 7e-12 } })",
                         "anode", "cathode");
  CHECK(told.run.values.stray_farads == std::vector<double>{7e-12});
  const Both none =
      both(R"({ kind = "diode", type = "1N4148", junction_capacitance = "0 F" })",
           "anode", "cathode");
  CHECK(none.run.structure->strays.empty());
}

TEST_CASE("a coil is one branch, with its winding and its loss", "[network][lower]") {
  const auto coil = [](const std::string& keys) {
    return both(R"({ kind = "inductor", value = "50 mH")" + keys + " }", "a", "b")
        .run.values.coils.at(0);
  };
  CHECK(coil("") == CoilModel{0.05, 0.0, 0.0});
  // 3 sqrt(50 mH / 20 pF) = 150 kohm.
  CHECK(coil(R"(, dcr = "70 ohm")").ohms == 70.0);
  CHECK(1.0 / coil(R"(, dcr = "70 ohm")").siemens == Approx(150e3));
  CHECK(1.0 / coil(R"(, loss = "33k")").siemens == Approx(33e3));
}

TEST_CASE("relay coils and motors have an inductance in runs", "[network][lower]") {
  const Both relay =
      both(R"({ kind = "relay-coil", voltage = "12 V", current = "30 mA" })", "a", "b");
  CHECK(relay.rest.structure->inductors.empty());
  REQUIRE(relay.run.values.coils.size() == 1);
  CHECK(relay.run.values.coils[0].ohms == Approx(400.0));
  CHECK(relay.run.values.coils[0].henries == Approx(400.0 * 1.5e-3));
  // 12 V / 2 A of winding, 12 V / 0.5 A in all when it runs, three time constants in
  // the start's time.
  const Both motor = both(R"({ kind = "motor", voltage = "12 V", current = "0.5 A", )"
                          R"(start_current = "2 A", start_time = "0.3 s" })",
                          "a", "b");
  REQUIRE(motor.run.values.coils.size() == 1);
  CHECK(motor.run.values.coils[0].ohms == Approx(6.0));
  REQUIRE(motor.run.values.farads.size() == 1);
  const double beside = 6.0 * 18.0 / 24.0;
  CHECK(beside * motor.run.values.farads[0] == Approx(0.1));
}

TEST_CASE("a regulated supply has a limit in runs", "[network][lower]") {
  const auto supply = [](const std::string& keys) {
    return both(R"({ kind = "dc-supply", voltage = "12 V")" + keys + " }", "plus",
                "minus");
  };
  const Both limited = supply(R"(, current = "1 A")");
  CHECK(limited.rest.values.regulators.empty());
  REQUIRE(limited.run.values.regulators.size() == 1);
  CHECK(limited.run.values.regulators[0].limit == Approx(1.3));
  CHECK(limited.run.values.regulators[0].follows);
  CHECK(supply("").run.values.regulators.empty());
  CHECK(supply(R"(, current = "1 A", limit = "none")").run.values.regulators.empty());
  CHECK(supply(R"(, current = "1 A", regulated = false, no_load = "17 V")")
            .run.values.regulators.empty());
}

}  // namespace benchproof::test
