#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "core/check/finding/explanation.h"
#include "core/check/time/endurance.h"
#include "core/circuit/read/reader.h"
#include "core/nodal/transient.h"
#include "core/verify/explanations.h"
#include "core/verify/runs/verify_runs.h"
#include "judged_run.h"

// What a part bears for a while: the limits are those that endurance.h names with their
// sources; the pulses here are rectangles, so that mean and length are known by hand.

namespace benchproof {
namespace {

using test::find;
using test::Findings;
using test::judged;

using Catch::Contains;
using Catch::WithinRel;
std::optional<Severity> severity(const Findings& findings, std::string_view check) {
  const Finding* found = find(findings, check);
  return found ? std::optional(found->severity) : std::nullopt;
}

constexpr auto kFault = std::optional(Severity::fault);
constexpr auto kCaution = std::optional(Severity::caution);
constexpr std::optional<Severity> kNothing;

/// A part `x` that gets a source's value for some seconds, and before and after 0.01 %
/// of it.
struct Pulse {
  std::string part;  ///< Keys of the part.
  std::string in, out;
  bool is_voltage = false;
  std::string state = {};  ///< Of all states, for a switch.
  bool ends_in_it = false;
};

Findings pulsed(const Pulse& p, double value, double seconds) {
  const std::string kind = p.is_voltage ? "voltage" : "current";
  std::string steps = R"({ at = "10 ms", state = "pulse", rise = "1 us" })";
  if (!p.ends_in_it) {
    steps += fmt::format(R"(, {{ at = "{} s", state = "rest", rise = "1 us" }})",
                         0.01 + seconds);
  }
  return judged(fmt::format(
      R"([parts]
s = {{ kind = "{0}-source", {0} = "{1} {2}" }}
x = {{ {3} }}
[nets]
top = ["s.plus", "x.{4}"]
ground = ["s.minus", "x.{5}"]
[states.rest]
{6}
[states.pulse]
{6}
steady = false
"s.{0}" = "{7} {2}"
[[runs]]
name = "a pulse"
from = "rest"
steps = [{8}]
span = "{9} s"
)",
      kind, value * 1e-4, p.is_voltage ? "V" : "A", p.part, p.in, p.out, p.state, value,
      steps, 0.01 + seconds + (p.ends_in_it ? 0.0 : 0.01)));
}

/// Half of a pulse's limit less a little: nothing; the limit less a little: a caution;
/// a little above: a fault.
void check_edges(const Pulse& p, std::string_view check, double limit, double seconds) {
  constexpr double kRoom = 0.05;  // What the steps of the lengths looked at leave.
  CAPTURE(p.part, limit, seconds);
  CHECK(severity(pulsed(p, limit * (1 + kRoom), seconds), check) == kFault);
  CHECK(severity(pulsed(p, limit * (1 - kRoom), seconds), check) == kCaution);
}

const Pulse kResistorPulse{R"(kind = "resistor", value = "100R", power = "1 W")", "a",
                           "b"};
const Pulse kZenerPulse{R"(kind = "zener", voltage = "10 V", power = "1 W")", "cathode",
                        "anode"};
const Pulse kFusePulse{R"(kind = "fuse", rated = "1 A")", "a", "b"};

}  // namespace

TEST_CASE("a curve is straight on logarithmic scales and level beyond its ends",
          "[runs][endurance]") {
  constexpr std::array curve = {Borne{1e-3, 100.0}, Borne{1e-1, 10.0},
                                Borne{10.0, 1.0}};
  const BorneCurve borne = curve;
  CHECK(borne.at(1e-9) == 100.0);
  CHECK_THAT(borne.at(1e-2), WithinRel(std::sqrt(1000.0), 1e-12));
  CHECK_THAT(borne.at(0.1), WithinRel(10.0, 1e-12));
  CHECK_THAT(borne.at(1.0), WithinRel(std::sqrt(10.0), 1e-12));
  CHECK(borne.at(1e9) == 1.0);
}

TEST_CASE("the stretch of most strain is found wherever it lies", "[runs][endurance]") {
  constexpr std::array curve = {Borne{1e-3, 10.0}, Borne{1.0, 1.0}};
  const double at = GENERATE(0.0, 0.3, 0.9);  // within a second
  const std::vector<double> seconds = {-1.0, at, at + 1e-9, at + 0.05, at + 0.051, 2.0};
  const Trace t{&seconds, {0.0, 0.0, 7.0, 7.0, 0.0, 0.0}};
  const auto strain = worst_strain(t, 1.0, {curve}, 0.0);
  REQUIRE(strain);
  // 7 for 50 ms, where 10 * 50^(-1/3) are borne. By hand.
  CHECK_THAT(strain->share(), WithinRel(7.0 / (10.0 * std::pow(50.0, -1 / 3.0)), 0.03));
  CHECK_THAT(strain->seconds, WithinRel(0.05, 0.2));
}

TEST_CASE("what was before the run counts, what comes after it does not",
          "[runs][endurance]") {
  constexpr std::array curve = {Borne{1e-3, 10.0}, Borne{10.0, 1.0}};
  const std::vector<double> seconds = {0.0, 1.0};
  const Trace t{&seconds, {1.5, 1.5}};
  const auto rested = worst_strain(t, 1.0, {curve}, 0.0);
  const auto went_on = worst_strain(t, 1.0, {curve}, 1.5);
  REQUIRE(rested);
  REQUIRE(went_on);
  CHECK(rested->share() < 1.0);
  CHECK_THAT(went_on->share(), WithinRel(1.5, 1e-12));
  CHECK_FALSE(worst_strain({&seconds, {1.0, 1.0}}, 1.0, {curve}, 1.0));
}

TEST_CASE("the mean square counts where heat goes with it", "[runs][endurance]") {
  constexpr std::array curve = {Borne{1.0, 1.0}};
  const std::vector<double> seconds = {0.0, 1.0};
  const Endurance e{curve, 0.5, 0.0, true, 1.0};
  // A ramp from -1 to 1: its mean square is a third.
  const auto strain = worst_strain({&seconds, {-1.0, 1.0}}, 1.0, e, 0.0);
  REQUIRE(strain);
  CHECK_THAT(strain->mean, WithinRel(1.0 / std::sqrt(3.0), 1e-9));
}

TEST_CASE("a resistor stands the overload test of IEC 60115-1, no more",
          "[runs][ratings]") {
  // 2.5 times the rated voltage for 5 s; 100 ohm and 1 W are rated for 0.1 A.
  check_edges(kResistorPulse, "run-heat", 0.25, 5.0);
  // Below half of 6.25 times the power nothing is said.
  CHECK(severity(pulsed(kResistorPulse, 0.17, 5.0), "run-heat") == kNothing);
  // The lasting power, after a while.
  CHECK(severity(pulsed(kResistorPulse, 0.105, 60.0), "run-heat") == kFault);
  CHECK(severity(pulsed(kResistorPulse, 0.099, 60.0), "run-heat") == kNothing);
}

TEST_CASE("a surge through a zener and its resistor is told with how long",
          "[runs][ratings]") {
  check_edges(kZenerPulse, "run-heat", 1.0, 10e-3);  // ten times 1 W for 10 ms
  CHECK(severity(pulsed(kZenerPulse, 0.4, 10e-3), "run-heat") == kNothing);
  const Findings findings = judged(R"([parts]
s = { kind = "dc-supply", voltage = "12 V", current = "10 A" }
z = { kind = "zener", voltage = "15 V", power = "1 W" }
r = { kind = "resistor", value = "10R", power = "2 W" }
[nets]
p = ["s.plus", "r.a"]
x = ["r.b", "z.cathode"]
ground = ["s.minus", "z.anode"]
[states.normal]
[states.surge]
steady = false
"s.voltage" = "40 V"
[[runs]]
name = "surge"
from = "normal"
state = "surge"
span = "1 s"
)");
  // (40 V - 15 V) / 10 ohm = 2.5 A: 37.5 W in the zener, 62.5 W in the resistor.
  for (const std::string part : {"z", "r"}) {
    CAPTURE(part);
    const auto at = std::find_if(findings.begin(), findings.end(), [&](const auto& f) {
      return f.check == "run-heat" && f.part == part;
    });
    REQUIRE(at != findings.end());
    CHECK(at->severity == Severity::fault);
    CHECK_THAT(at->message, Contains(part == "z" ? "up to 37.5 W" : "up to 62.5 W"));
    CHECK_THAT(at->message, Contains("for 999 ms") || Contains("for 1 s"));
  }
}

TEST_CASE("a run that ends in an overload that nobody judges says so",
          "[runs][ratings]") {
  Pulse p = kZenerPulse;
  CHECK(severity(pulsed(p, 0.3, 10e-3), "run-heat") == kNothing);
  p.ends_in_it = true;
  const Findings findings = pulsed(p, 0.3, 10e-3);
  REQUIRE(severity(findings, "run-heat") == kCaution);
  CHECK_THAT(find(findings, "run-heat")->message, Contains("not judged at rest"));
}

TEST_CASE("a quick-acting fuse opens by the times of IEC 60127-2", "[runs][ratings]") {
  check_edges(kFusePulse, "run-fuse", 4.0, 0.3);
  check_edges(kFusePulse, "run-fuse", 10.0, 20e-3);
  // 2 A2s for a rated ampere, however short: 100 A for 0.2 ms.
  check_edges(kFusePulse, "run-fuse", 100.0, 0.2e-3);
  CHECK(severity(pulsed(kFusePulse, 2.5, 20e-3), "run-fuse") == kNothing);
  // It holds for certain four times its rating for 10 ms, and opens for certain
  // at 14.1.
  CHECK(severity(pulsed(kFusePulse, 3.9, 10e-3), "run-fuse") == kNothing);
  CHECK(severity(pulsed(kFusePulse, 4.2, 10e-3), "run-fuse") == kCaution);
  check_edges(kFusePulse, "run-fuse", 14.1, 10e-3);
}

// 30 A for 1 ms are 0.9 A2s; IEC 60127-2 has at most 2 A2s for a rated ampere: 0.5 A2s
// of 500 mA, 8 A2s of 2 A. The least that it has is 0.16 A2s (4 times for 10 ms).
TEST_CASE("an inrush opens a small fuse, and may open a larger one",
          "[runs][ratings]") {
  const auto opens = [](const char* rated) {
    Pulse fuse = kFusePulse;
    fuse.part = fmt::format(R"(kind = "fuse", rated = "{}")", rated);
    return severity(pulsed(fuse, 30.0, 1e-3), "run-fuse");
  };
  CHECK(opens("500 mA") == kFault);
  CHECK(opens("630 mA") == kFault);    // 0.79 A2s
  CHECK(opens("800 mA") == kCaution);  // 1.28 A2s
  CHECK(opens("2 A") == kCaution);     // may open below 0.64 A2s already
  CHECK(opens("2.5 A") == kNothing);   // holds 1 A2s
}

TEST_CASE("loads bear a voltage for as long as they take to heat", "[runs][ratings]") {
  Pulse lamp{R"(kind = "lamp", voltage = "10 V", current = "100 mA")", "a", "b", true};
  check_edges(lamp, "run-load-voltage", 13.0, 0.1);
  CHECK(severity(pulsed(lamp, 10.9, 0.5), "run-load-voltage") == kNothing);
  CHECK(severity(pulsed(lamp, 11.2, 0.5), "run-load-voltage") == kCaution);
  Pulse coil = lamp;
  coil.part = R"(kind = "relay-coil", voltage = "10 V", current = "100 mA")";
  check_edges(coil, "run-load-voltage", 40.0, 10e-3);
  check_edges(coil, "run-load-voltage", 13.0, 10.0);
  Pulse buzzer = lamp;
  buzzer.part = R"(kind = "buzzer", voltage = "10 V", current = "10 mA")";
  check_edges(buzzer, "run-load-voltage", 13.0, 10e-3);
}

// Common practice, no source: I2t below 1 ms, up to a hundred times.
TEST_CASE("a contact that closes onto a capacitor bears as much energy as for 1 ms",
          "[runs][ratings]") {
  const Pulse contact{R"(kind = "switch", rated = "1 A")", "a", "b", false,
                      R"(x = "closed")"};
  check_edges(contact, "run-current", 31.6, 0.1e-3);
  check_edges(contact, "run-current", 100.0, 8e-6);
  // 12 V onto 100 uF through 0.5 ohm: 24 A, 24^2 * 50 us / 2 = 14 mA2s; 0.1 A2s are
  // borne. Through 0.1 ohm: 120 A.
  const auto charged = [](const char* ohms) {
    const Findings findings = judged(fmt::format(R"([parts]
s = {{ kind = "voltage-source", voltage = "12 V" }}
x = {{ kind = "switch", rated = "1 A" }}
r = {{ kind = "resistor", value = "{}" }}
c = {{ kind = "capacitor", value = "100uF", rated = "25 V" }}
[nets]
top = ["s.plus", "x.a"]
mid = ["x.b", "r.a"]
far = ["r.b", "c.a"]
ground = ["s.minus", "c.b"]
[states.off]
[states.on]
x = "closed"
[[runs]]
name = "closes"
steps = [{{ at = "0 s", state = "off" }}, {{ at = "2 ms", state = "on" }}]
span = "10 ms"
)",
                                                 ohms));
    return severity(findings, "run-current");
  };
  CHECK(charged("0.5 ohm") == kNothing);
  CHECK(charged("0.1 ohm") == kFault);
}

TEST_CASE("wires, contacts and windings bear a current for a while",
          "[runs][ratings]") {
  // AWG 24: 3.5 A, and 6.7 times as much for a second.
  const Pulse wire{R"(kind = "wire", gauge = "AWG 24", length = "1 m")", "a", "b"};
  check_edges(wire, "run-current", 6.7 * 3.5, 1.0);
  CHECK(severity(pulsed(wire, 3.4, 60.0), "run-current") == kNothing);
  const Pulse contact{R"(kind = "switch", rated = "1 A")", "a", "b", false,
                      R"(x = "closed")"};
  check_edges(contact, "run-current", 10.0, 1e-3);
  CHECK(severity(pulsed(contact, 1.01, 5.0), "run-current") == kFault);
  CHECK(severity(pulsed(contact, 0.99, 5.0), "run-current") == kNothing);
}

TEST_CASE("an inductor's peak above its rating is a caution, lasting a fault",
          "[runs][ratings]") {
  const Pulse coil{R"(kind = "inductor", value = "1 uH", dcr = "1 ohm", rated = "1 A")",
                   "a", "b"};
  const auto watched = [&](double amps, double seconds) {
    return severity(pulsed(coil, amps, seconds), "run-current");
  };
  CHECK(watched(0.99, 1e-3) == kNothing);
  CHECK(watched(1.01, 1e-3) == kCaution);
  CHECK(watched(10.6, 10e-3) == kFault);
}

// 250 V: reference/parts/defaults.toml.
TEST_CASE("a resistor's working voltage may be passed for a moment by as much again",
          "[runs][ratings]") {
  const Pulse p{R"(kind = "resistor", value = "10M")", "a", "b", true};
  CHECK(severity(pulsed(p, 249.0, 1e-3), "run-resistor-voltage") == kNothing);
  CHECK(severity(pulsed(p, 251.0, 1e-3), "run-resistor-voltage") == kCaution);
  CHECK(severity(pulsed(p, 501.0, 1e-3), "run-resistor-voltage") == kFault);
}

TEST_CASE("a small diode's lasting current has no more than its surge allows",
          "[runs][ratings]") {
  // 1N4148: 0.5 A for less than a second by its sheet; from there to 150 mA at 10 s.
  const Pulse p{R"(kind = "diode", type = "1N4148")", "anode", "cathode"};
  check_edges(p, "run-surge", 1.0, 1e-3);  // twice as much, from memory
  check_edges(p, "run-surge", 0.5 * std::cbrt(2.0), 0.1);
  CHECK(severity(pulsed(p, 0.49, 0.99), "run-current") == kCaution);
  CHECK(severity(pulsed(p, 0.52, 0.99), "run-current") == kFault);
  CHECK(severity(pulsed(p, 0.49, 3.0), "run-current") == kFault);
  CHECK(severity(pulsed(p, 0.149, 15.0), "run-current") == kNothing);
  CHECK(severity(pulsed(p, 0.155, 15.0), "run-current") == kFault);
}

// 30 A for a half sine of 8.3 ms (Diodes Inc. DS28002): 3.735 A2s.
TEST_CASE("a rectifier's surges are judged by their energy", "[runs][ratings]") {
  const Pulse p{R"(kind = "diode", type = "1N4001")", "anode", "cathode"};
  check_edges(p, "run-surge", std::sqrt(3.735 / 1e-3), 1e-3);
  check_edges(p, "run-surge", std::sqrt(3.735 / 0.1e-3), 0.1e-3);
  check_edges(p, "run-surge", std::sqrt(3.735 / 8.3e-3), 8.3e-3);
  check_edges(p, "run-surge", 300.0, 20e-6);  // ten times the rating, no more
  // 5 A for a second, a sixth of it; by the line there from 8.3 ms 10 A for 0.1 s.
  check_edges(p, "run-surge", 10.0, 0.1);
  CHECK(severity(pulsed(p, 4.9, 1.0), "run-current") == kCaution);
  CHECK(severity(pulsed(p, 5.2, 1.0), "run-current") == kFault);
  // 252 A for 20 us: 1.3 A2s.
  CHECK(severity(pulsed(p, 252.0, 20e-6), "run-surge") == kCaution);
  CHECK(severity(pulsed(p, 200.0, 20e-6), "run-surge") == kNothing);
  // Above the lasting current for long enough to be told, and allowed.
  const Findings told = pulsed(p, 10.0, 8e-3);
  REQUIRE(severity(told, "run-surge") == std::optional(Severity::note));
  CHECK_THAT(find(told, "run-surge")->message,
             Contains("above its lasting 1 A for 8 ms") && Contains("rating of 30 A"));
  // The heat is the surge's as well: no second finding, and none that contradicts.
  CHECK(find(pulsed(p, 60.0, 1e-3), "run-heat") == nullptr);
  CHECK(severity(pulsed(p, 0.99, 15.0), "run-current") == kNothing);
  CHECK(severity(pulsed(p, 1.05, 15.0), "run-current") == kFault);
}

/// A supply that is switched onto a rectifier and a capacitor, so many times 100 ms
/// apart, the capacitor discharged between.
Findings rectified(const std::string& supply, const std::string& farads,
                   const std::string& rise, int times = 1) {
  std::string steps = R"({ at = "0 s", state = "off" })";
  for (int k = 0; k < times; ++k) {
    steps += fmt::format(R"(, {{ at = "{} ms", state = "on", rise = "{}" }})"
                         R"(, {{ at = "{} ms", state = "emptied" }})",
                         5 + 100 * k, rise, 55 + 100 * k);
  }
  return judged(fmt::format(R"([parts]
s = {{ kind = "dc-supply", voltage = "12 V", current = "1 A", limit = "none" }}
key = {{ kind = "switch" }}
ease = {{ kind = "resistor", value = "{}", power = "50 W" }}
guard = {{ kind = "diode", type = "1N4001" }}
bulk = {{ kind = "capacitor", value = "{}", rated = "25 V", polarised = true }}
reg = {{ kind = "regulator", type = "7805" }}
hold = {{ kind = "capacitor", value = "10uF", rated = "16 V", polarised = true }}
load = {{ kind = "resistor", value = "100R", power = "1 W" }}
short = {{ kind = "switch" }}
empty = {{ kind = "resistor", value = "1R", power = "50 W" }}
[nets]
inlet = ["s.plus", "key.a"]
live = ["key.b", "ease.a"]
eased = ["ease.b", "guard.anode"]
raw = ["guard.cathode", "bulk.plus", "reg.in", "short.a"]
out = ["reg.out", "hold.plus", "load.a"]
gone = ["short.b", "empty.a"]
ground = ["s.minus", "bulk.minus", "reg.common", "hold.minus", "load.b", "empty.b"]
[states.on]
key = "closed"
[states.off]
"s.voltage" = "{}"
[states.emptied]
"s.voltage" = "{}"
short = "closed"
[[runs]]
name = "plugged in"
steps = [{}]
span = "{} ms"
)",
                            "1 mohm", farads, supply, supply, steps, 60 + 100 * times));
}

TEST_CASE("charging a usual reservoir through a 1N4001 is no fault, a huge one is",
          "[runs][ratings]") {
  // Switched onto 220 uF: some 250 A, but for 10 us (0.3 A2s).
  const Findings small = rectified("12 V", "220uF", "1 ms");
  CHECK(severity(small, "run-surge") == kCaution);
  CHECK(find(small, "run-heat") == nullptr);
  // A ramp of 1 ms onto 4700 uF: 4700 uF * 12 V / 1 ms = 56 A for 1 ms at most.
  const Findings ramp = rectified("0.001 V", "4700uF", "1 ms");
  CHECK(severity(ramp, "run-surge") != kFault);
  // 22 mF * 11 V / 1 ms would be 240 A: far beyond 3.7 A2s.
  const Findings huge = rectified("0.001 V", "22000uF", "1 ms");
  REQUIRE(severity(huge, "run-surge") == kFault);
  CHECK_THAT(find(huge, "run-surge")->message,
             Contains("A^2 s") && Contains("surge rating of 30 A"));
}

TEST_CASE("surges that are repeated count once each", "[runs][ratings]") {
  // 2200 uF (11.3 V)^2 / 2 over 43 mohm: 3.3 A2s of 3.7 each time.
  CHECK(severity(rectified("12 V", "2200uF", "1 ms", 1), "run-surge") == kCaution);
  CHECK(severity(rectified("12 V", "2200uF", "1 ms", 5), "run-surge") == kCaution);
  CHECK(severity(rectified("12 V", "3300uF", "1 ms", 1), "run-surge") == kFault);
}

/// An LED at an output of 25 ohm in PWM.
Findings lit(const std::string& keys, const std::string& ohms, const std::string& duty,
             const std::string& hertz, const std::string& span) {
  return judged(fmt::format(R"([parts]
v = {{ kind = "voltage-source", voltage = "5 V" }}
chip = {{ kind = "controller", outputs = ["a"], resistance_high = "1 ohm", resistance_low = "1 ohm" }}
r = {{ kind = "resistor", value = "{}", power = "5 W" }}
x = {{ kind = "led", {} }}
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
m = ["r.b", "x.anode"]
ground = ["v.minus", "chip.vss", "x.cathode"]
[states.off]
[states.on]
"chip.a" = {{ pwm = "{}", frequency = "{}" }}
[[runs]]
name = "lit"
from = "off"
state = "on"
span = "{}"
)",
                            ohms, keys, duty, hertz, span));
}

// Kingbright: 140 mA for 0.1 ms at a duty of 1/10. (5 V - 2 V) / (22.1 ohm + 1 ohm) are
// 130 mA.
TEST_CASE("an LED's pulses are held to their rating's height, time and duty",
          "[runs][ratings]") {
  const std::string red = R"(drop = "2 V", current = "20 mA", pulse = "140 mA", )"
                          R"(pulse_time = "0.1 ms", pulse_duty = "10%")";
  const auto told = [&](const char* ohms, const char* duty, const char* hertz) {
    return lit(red, ohms, duty, hertz, "25 ms");
  };
  CHECK(severity(told("22.1R", "9.9%", "1 kHz"), "run-surge") == kNothing);
  const Findings low = told("22.1R", "14.5%", "100 Hz");
  REQUIRE(severity(low, "run-surge") == kFault);
  CHECK_THAT(find(low, "run-surge")->message,
             Contains("too long (14.5 times)") &&
                 Contains("too frequent (1.45 times)") && !Contains("too high"));
  const Findings fifth = told("22.1R", "9.7%", "800 Hz");  // 0.121 ms
  REQUIRE(severity(fifth, "run-surge") == kCaution);
  CHECK_THAT(find(fifth, "run-surge")->message,
             Contains("too long (1.21 times)") && !Contains("frequent"));
  const Findings often = told("22.1R", "12.2%", "2 kHz");
  REQUIRE(severity(often, "run-surge") == kCaution);
  CHECK_THAT(find(often, "run-surge")->message,
             Contains("too frequent (1.21 times)") && !Contains("too long"));
  const Findings high = told("18R", "5%", "1 kHz");  // 158 mA
  REQUIRE(severity(high, "run-surge") == kFault);
  CHECK_THAT(find(high, "run-surge")->message, Contains("too high (1.13 times)"));
}

TEST_CASE("an LED that is on for long is held to its lasting current",
          "[runs][ratings]") {
  const std::string red = R"(kind = "led", colour = "red")";
  const Pulse p{red, "anode", "cathode"};
  // 20 mA are usual and 25 mA borne: between them an LED lasts less long.
  CHECK(severity(pulsed(p, 0.0199, 15.0), "run-current") == kNothing);
  CHECK(severity(pulsed(p, 0.0240, 15.0), "run-current") == kCaution);
  CHECK(severity(pulsed(p, 0.0260, 15.0), "run-current") == kFault);
  // 200 mA for 50 us are above what any such LED is rated for.
  CHECK(severity(pulsed(p, 0.2, 50e-6), "run-surge") == kFault);
  CHECK(severity(pulsed(p, 0.1, 50e-6), "run-surge") == kNothing);
  // Without a pulse rating: five times for 0.1 ms.
  const Pulse plain{R"(kind = "led", drop = "2 V", current = "20 mA")", "anode",
                    "cathode"};
  check_edges(plain, "run-current", 0.1, 0.1e-3);
}

TEST_CASE("transistors: base in reverse, power, pulse rating", "[runs][ratings]") {
  const auto with_base = [](double volts) {
    return severity(judged(fmt::format(R"([parts]
s = {{ kind = "voltage-source", voltage = "0 V" }}
t = {{ kind = "transistor", type = "BC547" }}
r = {{ kind = "resistor", value = "1k" }}
[nets]
e = ["s.plus", "t.emitter"]
b = ["t.base", "r.a"]
ground = ["s.minus", "t.collector", "r.b"]
[states.on]
"s.voltage" = "{} V"
[states.off]
[[runs]]
name = "x"
from = "off"
state = "on"
span = "10 ms"
)",
                                       volts)),
                    "run-base");
  };
  CHECK(with_base(5.9) == kNothing);  // 6 V: reference/parts/transistors.toml
  CHECK(with_base(6.1) == kFault);
}

TEST_CASE("a capacitor at a regulator's output that discharges backwards is told",
          "[runs][ratings]") {
  const auto told = [](const char* farads, const char* fall) {
    return severity(judged(fmt::format(R"([parts]
s = {{ kind = "dc-supply", voltage = "9 V", current = "2 A" }}
i = {{ kind = "capacitor", value = "1uF", rated = "25 V" }}
reg = {{ kind = "regulator", type = "7805" }}
o = {{ kind = "capacitor", value = "{}", rated = "10 V", polarised = true }}
r = {{ kind = "resistor", value = "4k7" }}
[nets]
p = ["s.plus", "reg.in", "i.a"]
rail = ["reg.out", "o.plus", "r.a"]
ground = ["s.minus", "reg.common", "i.b", "o.minus", "r.b"]
[[runs]]
name = "short at the input"
from = "steady"
steps = [{{ at = "1 ms", state = "unpowered", rise = "{}" }}]
span = "500 ms"
)",
                                       farads, fall)),
                    "run-back-feed");
  };
  CHECK(told("2200uF", "100 us") == kCaution);
  CHECK(told("22uF", "100 us") == kNothing);  // LM317's sheet: 25 uF
  CHECK(told("2200uF", "400 ms") == kNothing);
}

TEST_CASE("a negative regulator is held as its mirror image", "[runs][ratings]") {
  const auto at = [](double volts) {
    return judged(fmt::format(R"([parts]
s = {{ kind = "dc-supply", voltage = "9 V", current = "2 A" }}
reg = {{ kind = "regulator", type = "7905" }}
r = {{ kind = "resistor", value = "470R" }}
[nets]
in = ["s.minus", "reg.in"]
rail = ["reg.out", "r.a"]
ground = ["s.plus", "reg.common", "r.b"]
[states.on]
[states.surge]
steady = false
"s.voltage" = "{} V"
[[runs]]
name = "surge"
from = "on"
state = "surge"
span = "10 ms"
)",
                              volts));
  };
  // 35 V: reference/parts/regulators.toml.
  const Findings good = at(34.9);
  for (const char* check : {"run-regulator-input", "run-regulator-reverse",
                            "run-back-feed", "run-current"}) {
    CAPTURE(check);
    CHECK(find(good, check) == nullptr);
  }
  CHECK(severity(at(35.1), "run-regulator-input") == kFault);
}

TEST_CASE("what a supply at its limit does is told", "[runs][findings]") {
  const auto told = [](const char* more) {
    return judged(fmt::format(R"([parts]
s = {{ kind = {} }}
key = {{ kind = "switch" }}
c = {{ kind = "capacitor", value = "1000uF", rated = "25 V" }}
r = {{ kind = "resistor", value = "1 ohm", power = "50 W" }}
[nets]
p = ["s.plus", "key.a"]
q = ["key.b", "r.a"]
far = ["r.b", "c.a"]
ground = ["s.minus", "c.b"]
[states.off]
[states.on]
key = "closed"
[[runs]]
name = "switched on"
steps = [{{ at = "0 s", state = "off" }}, {{ at = "2 ms", state = "on" }}]
span = "50 ms"
)",
                              more));
  };
  const Findings ideal =
      told(R"("dc-supply", voltage = "9 V", current = "1 A", limit = "none")");
  REQUIRE(severity(ideal, "run-inrush") == kCaution);
  CHECK_THAT(find(ideal, "run-inrush")->message, Contains("told to have no limit"));
  // 1.3 A into 1 mF: 9 V less 1.3 V at 1 ohm after 1 mF * 7.7 V / 1.3 A = 5.9 ms.
  const Findings real = told(R"("dc-supply", voltage = "9 V", current = "1 A")");
  REQUIRE(severity(real, "run-inrush") == std::optional(Severity::note));
  CHECK_THAT(find(real, "run-inrush")->message,
             Contains("at its limit of 1.3 A for 5.9") && Contains("1.3 V"));
  // 130 mA: 65 ms and more; the run is over by then.
  const Findings weak = told(R"("dc-supply", voltage = "9 V", current = "0.1 A")");
  REQUIRE(severity(weak, "run-inrush") == kCaution);
  CHECK_THAT(find(weak, "run-inrush")->message, Contains("has not come up"));
  const Findings soft = told(R"("dc-supply", voltage = "9 V", current = "1 A", )"
                             R"(regulated = false, no_load = "12 V")");
  REQUIRE(severity(soft, "run-inrush") == std::optional(Severity::note));
  CHECK_THAT(find(soft, "run-inrush")->message, !Contains("a real one"));
}

TEST_CASE("a run from what only leakage has charged says so", "[runs][findings]") {
  // Behind the open switch, and with a resistor to ground that is none of leakage.
  const bool is_bled = GENERATE(false, true);
  const Findings findings =
      judged(fmt::format(R"([parts]
v = {{ kind = "voltage-source", voltage = "5 V" }}
c = {{ kind = "capacitor", value = "1uF", rated = "50 V" }}
r = {{ kind = "resistor", value = "1M" }}
sw = {{ kind = "switch" }}
[nets]
p = ["v.plus", "sw.a"]
q = ["sw.b", "c.a", "r.a"]
ground = ["v.minus", "c.b"{}]
[states.on]
sw = "closed"
[states.off]
[[runs]]
name = "x"
from = "off"
state = "on"
span = "10 ms"
)",
                         is_bled ? ", \"r.b\"" : "]\nopen = [\"r.b\""));
  CHECK(severity(findings, "run-start") == (is_bled ? kNothing : kCaution));
}

TEST_CASE("above 60 V only raw sources of that height are a textbook's",
          "[runs][findings]") {
  const auto told = [](double volts, double other) {
    return severity(judged(fmt::format(R"([parts]
s = {{ kind = "dc-supply", voltage = "12 V" }}
sw = {{ kind = "switch" }}
k = {{ kind = "inductor", value = "100 mH", dcr = "240 ohm" }}
r = {{ kind = "resistor", value = "{} ohm" }}
x = {{ kind = "voltage-source", voltage = "{} V" }}
y = {{ kind = "resistor", value = "1M" }}
[nets]
p = ["s.plus", "k.a", "r.a"]
c = ["k.b", "sw.a", "r.b"]
o = ["x.plus", "y.a"]
ground = ["s.minus", "sw.b", "x.minus", "y.b"]
[states.on]
sw = "closed"
[states.off]
[[runs]]
name = "drop out"
from = "on"
state = "off"
span = "5 ms"
)",
                                       volts, other)),
                    "run-voltage");
  };
  // 50 mA go on through the resistor: 12 V + 50 mA * R.
  CHECK(told(900.0, 5.0) == kNothing);
  CHECK(told(1000.0, 5.0) == kFault);
  CHECK(told(100.0, 61.0) == kCaution);
}

TEST_CASE("controllers: reversed supply and clamps are held at every moment",
          "[runs][ratings]") {
  const auto judged_chip = [](double supply, double feed) {
    return judged(fmt::format(R"([parts]
s = {{ kind = "voltage-source", voltage = "5 V" }}
f = {{ kind = "voltage-source", voltage = "0 V" }}
chip = {{ kind = "controller", type = "cmos-5v", outputs = ["q"], inputs = ["a"] }}
r = {{ kind = "resistor", value = "1k" }}
[nets]
rail = ["s.plus", "chip.vdd"]
fed = ["f.plus", "r.a"]
a = ["r.b", "chip.a"]
ground = ["s.minus", "chip.vss", "f.minus"]
open = ["chip.q"]
[states.good]
[states.bad]
steady = false
"s.voltage" = "{} V"
"f.voltage" = "{} V"
[[runs]]
name = "x"
from = "good"
state = "bad"
span = "10 ms"
)",
                              supply, feed));
  };
  CHECK(severity(judged_chip(-0.29, 0.0), "run-reversed") == kNothing);
  CHECK(severity(judged_chip(-0.31, 0.0), "run-reversed") == kFault);
  // 4 mA through 1 kohm and the clamp of some 0.7 V: 5 V + 0.7 V + 4 V.
  CHECK(severity(judged_chip(5.0, 9.0), "run-clamp") == kNothing);
  CHECK(severity(judged_chip(5.0, 10.5), "run-clamp") == kFault);
}

}  // namespace benchproof
