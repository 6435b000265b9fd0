#include "core/network/spread.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "core/device/constants.h"
#include "tests/unit/network/lowered.h"

namespace benchproof {
namespace {

using Catch::WithinRel;
using test::Lowered;
using test::lowered;

constexpr double kEndRounding = 1e-12;

const char* const kOfEach = R"(
[parts]
jack = { kind = "dc-supply", voltage = "10 V", current = "1 A", regulated = true }
raw  = { kind = "dc-supply", voltage = "10 V", current = "1 A", no_load = "14 V", regulated = false }
npn  = { kind = "transistor", type = "BC547" }
own  = { kind = "transistor", polarity = "npn", model = { bf = 100 } }
fet  = { kind = "mosfet", type = "BS250" }
zen  = { kind = "zener", type = "BZX55C12" }
flat = { kind = "zener", voltage = "5.1 V" }
reg  = { kind = "regulator", type = "7805" }
lamp = { kind = "led", colour = "red" }
rect = { kind = "diode", type = "1N4001" }
r    = { kind = "resistor", value = "1k" }
[nets]
ground = ["jack.minus", "raw.minus", "npn.emitter", "own.emitter", "fet.drain", "zen.anode", "flat.anode", "reg.common", "lamp.cathode", "rect.cathode"]
a = ["jack.plus", "raw.plus", "npn.collector", "own.collector", "fet.source", "zen.cathode", "flat.cathode", "reg.in", "lamp.anode", "rect.anode", "r.a"]
b = ["r.b", "npn.base", "own.base", "fet.gate", "reg.out"]
[states.steady]
)";

std::vector<SpreadEnd> ends_of(const Lowered& l, const char* part) {
  std::vector<SpreadEnd> ends = spread_ends(l.circuit.parts);
  std::erase_if(ends, [&](const SpreadEnd& e) { return e.part != l.part(part); });
  return ends;
}

Network put(const Lowered& l, const SpreadEnd& end) {
  Network network = l.network;
  put_spread(l.circuit.parts, end, network);
  return network;
}

TEST_CASE("what is published of a type, or usual of it, has ends", "[spread]") {
  const Lowered l = lowered(kOfEach);
  const auto values = [&](const char* part) {
    std::vector<double> found;
    for (const SpreadEnd& end : ends_of(l, part)) found.push_back(end.value);
    return found;
  };
  CHECK(values("jack") == std::vector{9.5, 10.5});
  CHECK(values("zen") == std::vector{11.4, 12.7});
  CHECK(values("reg") == std::vector{4.8, 5.2});
  CHECK(values("fet") == std::vector{1.0});
  CHECK(values("npn") == std::vector{800.0, -0.06, 0.06});
  CHECK(values("lamp").size() == 2);
  CHECK(values("rect") == std::vector{-0.1});
}

TEST_CASE("what the description gives has no ends", "[spread]") {
  const Lowered l = lowered(kOfEach);
  for (const char* part : {"raw", "own", "flat", "r"}) CHECK(ends_of(l, part).empty());
}

TEST_CASE("an end changes the values of its part", "[spread]") {
  const Lowered l = lowered(kOfEach);
  const Values jack = put(l, ends_of(l, "jack")[0]).values;
  CHECK(std::count(jack.volts.begin(), jack.volts.end(), 9.5) == 1);
  CHECK(put(l, ends_of(l, "fet")[0]).values.mosfets[0].vto == -1.0);
  CHECK(put(l, ends_of(l, "reg")[1]).values.regulators[0].output == 5.2);
  CHECK_THAT(put(l, ends_of(l, "npn")[0]).values.bipolars[0].bf,
             WithinRel(800.0, kEndRounding));
}

TEST_CASE("a junction's curve moves by its voltage at any current", "[spread]") {
  const Lowered l = lowered(kOfEach);
  const BipolarModel now = l.network.values.bipolars[0];
  const BipolarModel then = put(l, ends_of(l, "npn")[1]).values.bipolars[0];
  CHECK_THAT(now.nf * thermal_voltage(now.tnom) * std::log(then.is / now.is),
             WithinRel(kBaseSpreadVolts, kEndRounding));
}

}  // namespace
}  // namespace benchproof
