#include "core/check/rating/overload.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>

#include "core/circuit/read/reader.h"

namespace benchproof {
namespace {

using Catch::Contains;
using Catch::Matchers::WithinRel;

/// A part that is described so.
Part part_of(const std::string& keys) {
  static const Catalogue kCatalogue = built_in_catalogue();
  const std::string text =
      "[parts]\ns = { kind = \"current-source\", current = \"1 mA\" }\n"
      "x = { " +
      keys +
      " }\n[nets]\na = [\"s.plus\", \"x.anode\"]\n"
      "ground = [\"s.minus\", \"x.cathode\"]\n";
  const ReadResult read = read_circuit(text, "part.toml", kCatalogue);
  CAPTURE(text);
  REQUIRE(read.circuit.has_value());
  return read.circuit->parts[1];
}

/// What a diode bears by RMS for a time, up to a second. Ampere.
double surge(const Part& diode, double seconds) {
  return *number_of(diode, "surge") * surge_endurance(diode).curve.at(seconds);
}

/// What a part bears for a time, from a second on. Ampere.
double lasting(const Part& part, double seconds) {
  return *number_of(part, "current") * lasting_endurance(part).curve.at(seconds);
}

constexpr const char* k1N4001 = R"(kind = "diode", type = "1N4001")";
constexpr const char* k1N4148 = R"(kind = "diode", type = "1N4148")";
constexpr const char* kRed = R"(kind = "led", colour = "red")";

}  // namespace

TEST_CASE("a rectifier bears the I2t of its rated half sine, however short",
          "[check][overload]") {
  const Part diode = part_of(k1N4001);
  // 30 A, 8.3 ms half sine (Diodes Inc. DS28002): 30^2 * 8.3e-3 / 2, which sheets round
  // to 3.7 A2s for t < 8.3 ms (from memory).
  for (const double seconds : {8.3e-3, 4e-3, 1e-3, 0.1e-3, 0.05e-3}) {
    CAPTURE(seconds);
    const double amps = surge(diode, seconds);
    CHECK_THAT(amps * amps * seconds, WithinRel(3.735, 1e-9));
  }
  // Ten times 30 A and no more: common practice, no source.
  CHECK_THAT(surge(diode, 8.3e-3 / 200), WithinRel(300.0, 1e-9));
  CHECK_THAT(surge(diode, 1e-6), WithinRel(300.0, 1e-12));
  CHECK(surge_endurance(diode).by_rms);
}

TEST_CASE("over many half sines a rectifier bears less, in the end its lasting current",
          "[check][overload]") {
  const Part diode = part_of(k1N4001);
  // 60 half sines of 60 Hz: a third of the first's peak (makers' curves over the number
  // of cycles, from memory), half of that RMS.
  CHECK_THAT(surge(diode, 1.0), WithinRel(30.0 / 3.0 / 2.0, 1e-12));
  // Ten of them: 15 to 17 A in sheets of the 1N4001, from memory.
  const double ten = 2.0 * surge(diode, 10 / 60.0);
  CHECK(ten > 15.0);
  CHECK(ten < 17.5);
  // One curve: neither gap nor step where the lasting rating takes over.
  CHECK_THAT(lasting(diode, 1.0), WithinRel(surge(diode, 1.0), 1e-12));
  CHECK_THAT(lasting(diode, 10.0), WithinRel(1.0, 1e-12));
  CHECK(surge_endurance(diode).most_seconds == lasting_endurance(diode).least_seconds);
}

TEST_CASE("a description says of which half sine its surge rating is",
          "[check][overload]") {
  const auto squared = [](const char* more) {
    const Part diode = part_of(std::string(R"(kind = "diode", drop = "0.7 V", )") +
                               R"(surge = "30 A")" + more);
    const double amps = surge(diode, 1e-3);
    return amps * amps * 1e-3;
  };
  CHECK_THAT(squared(""), WithinRel(3.735, 1e-9));
  CHECK_THAT(squared(R"(, surge_time = "10 ms")"), WithinRel(4.5, 1e-9));
}

TEST_CASE("a small signal diode's surge is that of a rectangle", "[check][overload]") {
  // 0.5 A for 1 s (PanJit); 1 A for 1 ms and 4 A for 1 us in other sheets of such
  // diodes (from memory).
  const Part diode = part_of(k1N4148);
  CHECK_THAT(surge(diode, 1.0), WithinRel(0.5, 1e-12));
  CHECK_THAT(surge(diode, 1e-3), WithinRel(1.0, 1e-9));
  CHECK_THAT(surge(diode, 1e-6), WithinRel(4.0, 1e-9));
  CHECK_THAT(lasting(diode, 1.0), WithinRel(0.5, 1e-12));
  CHECK_THAT(lasting(diode, 10.0), WithinRel(0.15, 1e-12));
  // One for less than a millisecond.
  const Part quick = part_of(std::string(k1N4148) + R"(, surge_time = "1 us")");
  CHECK_THAT(surge(quick, 1e-6), WithinRel(0.5, 1e-12));
}

TEST_CASE("no curve falls below the lasting current, or rises with time",
          "[check][overload]") {
  for (const char* type : {"1N4001", "1N5819", "1N4148", "BAT85", "BAT54", "BAT43"}) {
    CAPTURE(type);
    const Part diode =
        part_of(std::string(R"(kind = "diode", type = ")") + type + "\"");
    const double current = *number_of(diode, "current");
    double before = HUGE_VAL;
    for (double seconds = 1e-6; seconds < 20.0; seconds *= 1.3) {
      CAPTURE(seconds);
      const double amps =
          seconds < kShortOverload ? surge(diode, seconds) : lasting(diode, seconds);
      CHECK(amps >= current * (1.0 - 1e-12));
      CHECK(amps <= before * (1.0 + 1e-12));
      before = amps;
    }
  }
  const Part odd =
      part_of(R"(kind = "diode", drop = "0.7 V", current = "2 A", surge = "1 A")");
  CHECK_THAT(surge(odd, 0.5), WithinRel(2.0, 1e-12));
}

TEST_CASE("an LED bears all of its pulse rating for its time, then less",
          "[check][overload]") {
  // Kingbright: 140 mA for 0.1 ms; the class is usually run at 20 mA, and stands 25 mA.
  const Part led = part_of(kRed);
  const auto borne = [&](double seconds) {
    return 0.14 * pulse_endurance(led).curve.at(seconds);
  };
  CHECK_THAT(borne(1e-6), WithinRel(0.14, 1e-12));
  CHECK_THAT(borne(0.1e-3), WithinRel(0.14, 1e-12));
  // Half way on logarithmic scales, from 0.1 ms to 10 s: by hand.
  CHECK_THAT(borne(std::sqrt(0.1e-3 * 10.0)), WithinRel(std::sqrt(0.14 * 0.025), 1e-9));
  CHECK_THAT(lasting(led, 1.0), WithinRel(borne(1.0), 1e-12));
  CHECK_THAT(lasting(led, 10.0), WithinRel(0.025, 1e-12));
  // A rating is one: 30 mA.
  CHECK_THAT(lasting(part_of(R"(kind = "led", type = "WP7113LSYCK/J3")"), 10.0),
             WithinRel(0.03, 1e-12));
  // Without a pulse rating: five times for 0.1 ms (common practice, no source).
  const Part plain = part_of(R"(kind = "led", drop = "2 V", current = "20 mA")");
  CHECK_THAT(lasting(plain, 0.1e-3), WithinRel(0.1, 1e-12));
  CHECK_THAT(lasting(plain, 10.0), WithinRel(0.02, 1e-12));
}

TEST_CASE("which of height, time and duty is past an LED's pulse rating is told",
          "[check][overload]") {
  const Part led = part_of(kRed);
  const auto judged = [&](double amps, double seconds, double duty) {
    const double strain = pulse_strain(led, amps, seconds);
    return excess_of(led, {amps, seconds, duty, amps, strain});
  };
  const auto fault = std::optional(Severity::fault);
  const auto caution = std::optional(Severity::caution);
  CHECK_FALSE(judged(0.13, 0.1e-3, 0.1).severity);
  CHECK(judged(0.141, 0.1e-3, 0.1).severity == fault);
  CHECK(judged(0.141, 0.1e-3, 0.1).is_high);
  // 14 times too long and half as often again: a fault; a fifth too long is none.
  CHECK(judged(0.13, 1.45e-3, 0.1).severity == fault);
  CHECK(judged(0.13, 0.12e-3, 0.1).severity == caution);
  CHECK(judged(0.13, 0.12e-3, 0.1).is_long);
  CHECK(judged(0.13, 0.1e-3, 0.145).severity == fault);
  CHECK(judged(0.13, 0.1e-3, 0.12).severity == caution);
  CHECK(judged(0.13, 0.1e-3, 0.12).is_frequent);
  // Little above the lasting current, for much longer or more often, is borne.
  CHECK(judged(0.03, 20e-3, 0.1).severity == caution);
  CHECK(judged(0.03, 0.1e-3, 0.6).severity == caution);

  Finding finding;
  const Pulses pulses{0.13, 1.45e-3, 0.145, 0.13, pulse_strain(led, 0.13, 1.45e-3)};
  tell_excess(led, pulses, excess_of(led, pulses), finding);
  CHECK_THAT(finding.message,
             Contains("up to 130 mA, up to 1.45 ms long and 14.5 % of the time") &&
                 Contains("too long (14.5 times) and too frequent (1.45 times)") &&
                 Contains("140 mA for 100 us, 10 % of the time") &&
                 !Contains("too high"));
  CHECK(finding.quantity == "pulse length");
  CHECK(finding.value == 1.45e-3);
  CHECK(finding.limit == 0.1e-3);
}

TEST_CASE("an LED whose pulses' time is not told is held to their height",
          "[check][overload]") {
  const Part led =
      part_of(R"(kind = "led", drop = "2 V", current = "20 mA", pulse = "100 mA")");
  CHECK_FALSE(excess_of(led, {0.099, 1.0, 0.2, 0.099, 0.0}).severity);
  CHECK(excess_of(led, {0.101, 1e-6, 1e-3, 0.101, 0.0}).severity == Severity::fault);
  CHECK(pulse_strain(led, 0.099, 1.0) == 0.0);
  const Part told =
      part_of(R"(kind = "led", drop = "2 V", current = "20 mA", )"
              R"(pulse = "100 mA", pulse_time = "1 ms", pulse_duty = "5%")");
  CHECK(excess_of(told, {0.099, 1e-3, 0.051, 0.099, 0.0}).is_frequent);
  CHECK_FALSE(excess_of(told, {0.099, 1e-3, 0.049, 0.099, 0.0}).severity);
}

}  // namespace benchproof
