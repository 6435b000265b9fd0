#include <catch2/catch.hpp>
#include <string>

#include "tests/unit/sizing/sized.h"

namespace benchproof {
namespace {

using Catch::Contains;

const std::string kBench = R"([parts]
s = { kind = "dc-supply", voltage = "12 V" }
a = { kind = "resistor", value = "10k" }
b = { kind = "resistor", value = "10k" }
c = { kind = "capacitor", value = "100nF" }
lamp_r = { kind = "resistor", value = "1k" }
lamp = { kind = "led", colour = "red" }
reg = { kind = "regulator", type = "7805" }
[nets]
in = ["s.plus", "a.a", "lamp_r.a", "reg.in"]
tap = ["a.b", "b.a", "c.a"]
glow = ["lamp_r.b", "lamp.anode"]
open = ["reg.out"]
ground = ["s.minus", "b.b", "c.b", "lamp.cathode", "reg.common"]
[[runs]]
name = "up"
state = "steady"
span = "10 ms"
)";

std::string complaint(const std::string& text, const std::string& run = {}) {
  const test::Description d(kBench);
  const auto goal = read_goal(d.circuit, text, run);
  const auto* wrong = std::get_if<std::string>(&goal);
  return wrong == nullptr ? "" : *wrong;
}

}  // namespace

TEST_CASE("goals are read in every form", "[sizing][goal]") {
  for (const char* good :
       {"tap voltage = 3.3 V", "tap voltage=3.3V", "in to tap voltage <= 5 V",
        "lamp current >= 8mA", "reg.in current = 10 mA", "lamp brightness = 40%",
        "a power = 1 mW", "c time-constant = 1 ms", "a voltage = 1 V"}) {
    CAPTURE(good);
    CHECK(complaint(good).empty());
  }
  CHECK(complaint("tap reaches 2.5 V = 1 ms", "up").empty());
  CHECK(complaint("tap reaches 2.5 V falling <= 1 ms", "up").empty());
}

TEST_CASE("a part of a block may be written with a point", "[sizing][goal]") {
  const test::Description d(R"([parts]
s = { kind = "dc-supply", voltage = "12 V" }
house1 = { block = "house" }
[paths]
way = ["s.plus", "house1", "ground", "s.minus"]
[blocks.house]
pins = ["in", "out"]
[blocks.house.parts]
r = { kind = "resistor", value = "1k" }
led = { kind = "led", colour = "red" }
[blocks.house.paths]
way = ["in", "r", "led", "out"]
)");
  const Goal by_point = test::goal_of(d.circuit, "house1.led current = 5 mA");
  const Goal by_name = test::goal_of(d.circuit, "house1/led current = 5 mA");
  CHECK(by_point.subject.part == by_name.subject.part);
  CHECK(by_point.subject.pin == -1);
  const Goal pin = test::goal_of(d.circuit, "house1.led.anode current = 5 mA");
  CHECK(pin.subject.part == by_name.subject.part);
  CHECK(pin.subject.pin >= 0);
}

TEST_CASE("what is wrong with a goal is told with what would be right",
          "[sizing][goal]") {
  CHECK_THAT(complaint("tap voltage"), Contains("a goal is written as"));
  CHECK_THAT(complaint("tap voltage < 3 V"), Contains("write <= or >="));
  CHECK_THAT(complaint("tapp voltage = 3 V"), Contains("no part 'tapp'"));
  CHECK_THAT(complaint("tap to inn voltage = 3 V"), Contains("did you mean 'in'"));
  CHECK_THAT(complaint("lmap current = 3 mA"), Contains("did you mean 'lamp'"));
  CHECK_THAT(complaint("lamp curent = 3 mA"), Contains("nothing that can be wanted"));
  CHECK_THAT(complaint("lamp current = 3 V"), Contains("not of a current"));
  CHECK_THAT(complaint("lamp current = 3"), Contains("'3'"));
  CHECK_THAT(complaint("reg current = 3 mA"), Contains("reg.in"));
  CHECK_THAT(complaint("reg.inn current = 3 mA"), Contains("no pin"));
  CHECK_THAT(complaint("a brightness = 50%"), Contains("no LED"));
  CHECK_THAT(complaint("a time-constant = 1 s"), Contains("no capacitor"));
  CHECK_THAT(complaint("tap reaches 2 V = 1 ms"), Contains("--run"));
  CHECK_THAT(complaint("tap reaches 2 V = 1 ms", "uo"), Contains("did you mean 'up'"));
  CHECK_THAT(complaint("tap reaches = 1 ms", "up"), Contains("needs a level"));
  CHECK_THAT(complaint(""), Contains("a goal is written as"));
  CHECK_THAT(complaint("= 3 V"), Contains("a goal is written as"));
}

}  // namespace benchproof
