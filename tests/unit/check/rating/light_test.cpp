#include "core/check/rating/light.h"

#include <catch2/catch.hpp>

#include "core/catalogue/catalogue.h"
#include "core/circuit/circuit.h"

using namespace benchproof;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

Part lamp(KindId kind, double volts, double amps) {
  Part part;
  part.kind = kind;
  if (volts > 0.0) part.settings["voltage"] = Setting{volts, {}};
  if (amps > 0.0) part.settings["current"] = Setting{amps, {}};
  return part;
}

}  // namespace

TEST_CASE("an LED's light goes with its current", "[check][light]") {
  const Part led = lamp(KindId::led, 0.0, 20e-3);
  CHECK_THAT(light_share(led, 5e-3, 0.0).value(), WithinRel(0.25, 1e-12));
  CHECK_THAT(light_share(led, -1e-9, 0.0).value(), WithinAbs(0.0, 0.0));
}

// From memory: makers' re-rating formulas, light by the 3.4th to 3.6th power of the
// voltage, current by its 0.55th to 0.6th; at 80 % of the voltage 45 to 47 % of light.
TEST_CASE("a filament's light falls faster than its voltage", "[check][light]") {
  const Part bulb = lamp(KindId::lamp, 12.0, 50e-3);
  const double watts = 12.0 * 50e-3;
  CHECK_THAT(light_share(bulb, 0.0, watts).value(), WithinRel(1.0, 1e-12));
  const double share = light_share(bulb, 0.0, watts * std::pow(0.8, 1.575)).value();
  CHECK(share > 0.44);
  CHECK(share < 0.48);
}

TEST_CASE("what gives no light, or has no rating, has no share", "[check][light]") {
  CHECK_FALSE(light_share(lamp(KindId::resistor, 0.0, 1.0), 1.0, 1.0).has_value());
  CHECK_FALSE(light_share(lamp(KindId::lamp, 0.0, 50e-3), 1.0, 1.0).has_value());
  CHECK_FALSE(light_share(lamp(KindId::led, 0.0, 0.0), 1.0, 1.0).has_value());
}
