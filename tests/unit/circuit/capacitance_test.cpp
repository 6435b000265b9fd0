#include "core/circuit/capacitance.h"

#include <catch2/catch.hpp>
#include <limits>

using namespace benchproof;
using Catch::Matchers::WithinRel;

namespace {

/// A part whose type and kind give it a figure each.
struct Sample {
  Type type;
  Type defaults;
  Part part;

  explicit Sample(KindId kind) { part.kind = kind; }
  void typical(const char* key, double farads) {
    type.figures[key] = {farads, Unit::farad, Mark::memory, "a sheet", ""};
    part.type = &type;
  }
  void usual(const char* key, double farads) {
    defaults.figures[key] = {farads, Unit::farad, Mark::practice, "", ""};
    part.defaults = &defaults;
  }
  void given(const char* key, double farads) { part.settings[key] = {farads, {}}; }
  void given(const DeviceModel& model) { part.settings["model"] = {model, {}}; }
};

// A difference of two capacitances: a rounding of each.
constexpr double kDifference = 8 * std::numeric_limits<double>::epsilon();

}  // namespace

TEST_CASE("a junction's capacitance is what stands nearest to the part",
          "[circuit][capacitance]") {
  Sample diode(KindId::diode);
  CHECK(junction_farads(diode.part) == 0.0);
  diode.usual("junction_capacitance", 20e-12);
  CHECK(junction_farads(diode.part) == 20e-12);
  diode.typical("junction_capacitance", 40e-12);
  CHECK(junction_farads(diode.part) == 40e-12);
  diode.given(DiodeModel{});
  CHECK(junction_farads(diode.part) == 40e-12);
  diode.given(DiodeModel{.cjo = 0.0});
  CHECK(junction_farads(diode.part) == 0.0);
  diode.given("junction_capacitance", 5e-12);  // as a state may
  CHECK(junction_farads(diode.part) == 5e-12);
}

TEST_CASE("the junctions of a transistor are told one by one",
          "[circuit][capacitance]") {
  Sample bipolar(KindId::transistor);
  bipolar.usual("emitter_capacitance", 10e-12);
  bipolar.usual("collector_capacitance", 5e-12);
  bipolar.given(BipolarModel{.cjc = 3e-12});
  CHECK(bipolar_farads(bipolar.part).base_emitter == 10e-12);
  CHECK(bipolar_farads(bipolar.part).base_collector == 3e-12);
  bipolar.given("emitter_capacitance", 0.0);
  CHECK(bipolar_farads(bipolar.part).base_emitter == 0.0);
}

TEST_CASE("what a sheet measures of a MOS transistor is parted between its pins",
          "[circuit][capacitance]") {
  Sample mos(KindId::mosfet);
  mos.typical("input_capacitance", 50e-12);
  mos.typical("output_capacitance", 25e-12);
  mos.typical("reverse_capacitance", 5e-12);
  MosFarads farads = mos_farads(mos.part);
  CHECK_THAT(farads.gate_source, WithinRel(45e-12, kDifference));
  CHECK_THAT(farads.drain_source, WithinRel(20e-12, kDifference));
  CHECK(farads.gate_drain == 5e-12);

  mos.given(MosModel{.cgs = 30e-12, .cgd = 2e-12});
  farads = mos_farads(mos.part);
  CHECK(farads.gate_source == 30e-12);
  CHECK(farads.gate_drain == 2e-12);
  CHECK_THAT(farads.drain_source, WithinRel(20e-12, kDifference));

  mos.given("reverse_capacitance", 10e-12);
  farads = mos_farads(mos.part);
  CHECK(farads.gate_drain == 10e-12);
  CHECK_THAT(farads.drain_source, WithinRel(15e-12, kDifference));
  CHECK(mos_farads(Part{}).gate_source == 0.0);
}
