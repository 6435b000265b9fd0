#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/transient.h"
#include "core/verify/runs/verify_runs.h"
#include "judged_run.h"

namespace benchproof {
namespace {

using test::find;
using test::Findings;
using test::judged;

/// An LED at an output, and in parallel to its resistor's end a capacitor, if any.
std::string blinking(const std::string& hertz, const std::string& span,
                     const std::string& capacitor = "", const std::string& pins = "") {
  return R"([parts]
v = { kind = "dc-supply", voltage = "5 V", current = "1 A" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["a"] }
r = { kind = "resistor", value = "1k" }
x = { kind = "led", colour = "red" }
)" + capacitor +
         R"([nets]
rail = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
m = ["r.b", "x.anode")" +
         (pins.empty() ? "" : ", \"c.plus\"") + R"(]
ground = ["v.minus", "chip.vss", "x.cathode")" +
         (pins.empty() ? "" : ", \"c.minus\"") + R"(]
[states.dark]
[states.blink]
"chip.a" = { pwm = "50%", frequency = ")" +
         hertz + R"(" }
[[runs]]
name = "blinks"
from = "dark"
state = "blink"
span = ")" +
         span + "\"\n";
}

}  // namespace

// W3C, Understanding SC 2.3.1: at most three flashes in any one second. From 70 Hz on
// they fuse (AZoM article 14729 on IEEE PAR1789).
TEST_CASE("a light that flashes more than three times a second is told",
          "[runs][flashes]") {
  CHECK(find(judged(blinking("3 Hz", "1.2 s")), "run-flashes") == nullptr);
  const Findings fast = judged(blinking("4 Hz", "1.2 s"));
  const Finding* finding = find(fast, "run-flashes");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::caution);
  CHECK(finding->value == 4.0);
  CHECK(finding->limit == 3.0);
  CHECK(find(judged(blinking("65 Hz", "100 ms")), "run-flashes") != nullptr);
  CHECK(find(judged(blinking("75 Hz", "100 ms")), "run-flashes") == nullptr);
}

// Some 3 mA through 1 kohm, half of the time: 1.5 mA RMS of ripple.
TEST_CASE("ripple current is held to a capacitor's rating", "[runs][ripple]") {
  const auto ripple = [](const char* rated) {
    return judged(
        blinking("500 Hz", "41 ms",
                 std::string("c = { kind = \"capacitor\", value = \"100 uF\", "
                             "rated = \"16 V\", polarised = true, ripple = "
                             "\"") +
                     rated + "\" }\n",
                 "c"));
  };
  const Findings over = ripple("1 mA");
  const Finding* finding = find(over, "run-ripple");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::fault);
  const Findings within = ripple("100 mA");
  const Finding* note = find(within, "run-ripple");
  REQUIRE(note != nullptr);
  CHECK(note->severity == Severity::note);
}

}  // namespace benchproof
