// What flows when a circuit is switched on, and what PWM does to what takes its time.
#include "core/verify/moments/first_moment.h"

#include <cmath>
#include <string>

#include "tests/unit/check/bench.h"

using namespace benchproof;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Contains;
using Catch::Matchers::WithinRel;

namespace {

/// An output of 25 ohm to 5 V and 225 ohm to ground, straight on a capacitor.
const std::string kPump = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["pump"], resistance_high = "25R", resistance_low = "225R" }
store = { kind = "capacitor", value = "@", rated = "16 V", polarised = true }
[nets]
rail = ["jack.plus", "bypass.a", "chip.vdd"]
pin = ["chip.pump", "store.plus"]
ground = ["jack.minus", "bypass.b", "chip.vss", "store.minus"]
[states.filling]
"chip.pump" = "high"
)";

/// A gate of 1 nF behind 100 kohm, at PWM of 1 kHz.
const std::string kGate = R"([parts]
jack = { kind = "dc-supply", voltage = "5 V", current = "1 A", regulated = true }
bypass = { kind = "capacitor", value = "100nF", rated = "50 V" }
chip = { kind = "controller", type = "cmos-5v", outputs = ["dim"], resistance_high = "25R", resistance_low = "25R" }
gate_r = { kind = "resistor", value = "@" }
driver = { kind = "mosfet", type = "IRLZ44N", input_capacitance = "1nF" }
beam = { kind = "lamp", voltage = "5 V", current = "100 mA" }
[nets]
rail = ["jack.plus", "bypass.a", "chip.vdd", "beam.a"]
pin = ["chip.dim", "gate_r.a"]
gate = ["gate_r.b", "driver.gate"]
hook = ["beam.b", "driver.drain"]
ground = ["jack.minus", "bypass.b", "chip.vss", "driver.source"]
[states.dim]
"chip.dim" = { pwm = "50%", frequency = "1 kHz" }
)";

}  // namespace

TEST_CASE("a small diode before an empty reservoir is a fault", "[check][verify]") {
  const Bench bench = verified(R"([parts]
pack = { kind = "voltage-source", voltage = "12 V" }
own = { kind = "resistor", value = "0.5 ohm", power = "5 W" }
guard = { kind = "diode", type = "1N4148" }
store = { kind = "capacitor", value = "4700uF", rated = "25 V", polarised = true, esr = "0.5 ohm" }
load = { kind = "resistor", value = "10k" }
[nets]
plus = ["pack.plus", "own.a"]
fed = ["own.b", "guard.anode"]
rail = ["guard.cathode", "store.plus", "load.a"]
ground = ["pack.minus", "store.minus", "load.b"]
[states.on]
)");
  const Finding* found = find(bench.verification.states[0], "switching-on", "guard");
  REQUIRE(found != nullptr);
  CHECK(found->severity == Severity::fault);
  CHECK_THAT(found->message, Contains("'store' is still empty"));
}

TEST_CASE("what is over within a millisecond is no matter", "[check][verify]") {
  const Bench bench = verified(filled(kPump, "10uF"));
  CHECK(find(bench.verification.states[0], "switching-on", "chip") == nullptr);
}

TEST_CASE("a run that switches a state on goes first", "[check][verify]") {
  const Bench bench = verified(filled(kPump, "470uF") + R"([[runs]]
name = "plugged in"
state = "filling"
span = "100 ms"
)");
  CHECK(find(bench.verification.states[0], "switching-on", "chip") == nullptr);
}

TEST_CASE("a capacitor keeps the mean weighted with conductances", "[check][verify]") {
  const Bench bench = verified(filled(kPump, "1000uF") + R"([states.half]
"chip.pump" = { pwm = "50%", frequency = "1 kHz" }
)");
  const Finding* found = find(bench.verification.states[1], "pwm-smoothed", "store");
  REQUIRE(found != nullptr);
  CHECK(found->severity == Severity::caution);
  // 5 V / 25 over 1 / 25 + 1 / 225: 4.5 V in place of 2.5 V.
  CHECK_THAT(*found->value, WithinRel(2.0, 1e-3));
  CHECK_THAT(found->message, Contains("4.5 V") && Contains("2.5 V"));
}

TEST_CASE("a gate's time constant is that of its resistor", "[check][verify]") {
  const Bench slow = verified(filled(kGate, "100k"));
  const Finding* found = find(slow.verification.states[0], "gate-slow", "driver");
  REQUIRE(found != nullptr);
  CHECK(found->severity == Severity::caution);
  CHECK_THAT(*found->value, WithinRel(100.025e-6, 1e-3));
  const Bench standing = verified(filled(kGate, "1M"));
  found = find(standing.verification.states[0], "gate-slow", "driver");
  REQUIRE(found != nullptr);
  CHECK(found->severity == Severity::fault);
  const Bench quick = verified(filled(kGate, "10k"));
  CHECK(find(quick.verification.states[0], "gate-slow", "driver") == nullptr);
}
