#include <string>

#include "tests/unit/check/bench.h"

using benchproof::ExpectationResult;
using benchproof::Finding;
using benchproof::Severity;
using benchproof::StateResult;
using benchproof::Verdict;
using benchproof::bench::Bench;
using benchproof::bench::find;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

/// Kuphaldt, Lessons In Electric Circuits vol. I ch. 6, first voltage divider: 45 V
/// over 5k, 10k and 7.5k give 2 mA, 10 V, 20 V and 15 V.
const std::string kDivider = R"([parts]
v = { kind = "voltage-source", voltage = "45 V" }
r1 = { kind = "resistor", value = "5k" }
r2 = { kind = "resistor", value = "10k" }
r3 = { kind = "resistor", value = "7k5" }
[nets]
n1 = ["v.plus", "r1.a"]
n2 = ["r1.b", "r2.a"]
n3 = ["r2.b", "r3.a"]
ground = ["v.minus", "r3.b"]
)";

/// A chip with an output of no resistance to speak of that is high for a quarter of the
/// time, on a 5 V supply with 500 ohm: 10 mA while on.
const std::string kPwm = R"([parts]
v = { kind = "voltage-source", voltage = "5 V" }
chip = { kind = "controller", outputs = ["a"], resistance_high = "1 uohm", resistance_low = "1 uohm", draw = "0 A" }
r = { kind = "resistor", value = "500R" }
[nets]
vdd = ["v.plus", "chip.vdd"]
a = ["chip.a", "r.a"]
ground = ["v.minus", "chip.vss", "r.b"]
[states.on]
"chip.a" = { pwm = "25%", frequency = "1 kHz" }
)";

Bench expecting(const std::string& circuit, const std::string& expectation) {
  return verified(circuit + "[[expect]]\n" + expectation);
}

double value_of(const Bench& bench) {
  const ExpectationResult& result = bench.verification.states[0].expectations.at(0);
  CHECK_THAT(result.engine, WithinRel(result.nodal, 1e-12));
  return result.nodal;
}

bool holds(const Bench& bench) {
  const StateResult& state = bench.verification.states[0];
  const bool result = state.expectations.at(0).holds;
  CHECK((find(state, "expectation") == nullptr) == result);
  CHECK((state.verdict == Verdict::fault) == !result);
  return result;
}

}  // namespace

TEST_CASE("published figures of a divider are met", "[check][expect]") {
  // Exact for the given values; only arithmetic noise (2 ppm) is allowed.
  for (const char* expectation :
       {"net = \"n1\"\nto = \"n2\"\nvoltage = { nominal = \"10 V\", within = \"20 uV\" "
        "}",
        "net = \"n2\"\nto = \"n3\"\nvoltage = { nominal = \"20 V\", within = \"40 uV\" "
        "}",
        "net = \"n3\"\nvoltage = { nominal = \"15 V\", within = \"30 uV\" }",
        "part = \"r1\"\ncurrent = { nominal = \"2 mA\", within = \"4 nA\" }",
        "part = \"r1\"\nvoltage = { nominal = \"10 V\", within = \"20 uV\" }",
        "part = \"v\"\ncurrent = { nominal = \"2 mA\", within = \"4 nA\" }",
        "part = \"v\"\npin = \"plus\"\ncurrent = { nominal = \"-2 mA\", within = \"4 "
        "nA\" }",
        "part = \"r1\"\npower = { nominal = \"20 mW\", within = \"40 nW\" }",
        "part = \"v\"\npower = { nominal = \"-90 mW\", within = \"180 nW\" }"}) {
    CAPTURE(expectation);
    CHECK(holds(expecting(kDivider, expectation)));
  }
}

TEST_CASE("bounds hold at their edges and not past them", "[check][expect]") {
  const auto bounded = [](const std::string& bounds) {
    return holds(expecting(kDivider, "net = \"n3\"\nvoltage = " + bounds));
  };
  CHECK(bounded(R"({ max = "15.001 V" })"));
  CHECK_FALSE(bounded(R"({ max = "14.999 V" })"));
  CHECK(bounded(R"({ min = "14.999 V" })"));
  CHECK_FALSE(bounded(R"({ min = "15.001 V" })"));
  // 15 V is 1/1.05 of 15.75 V: within 5 % of 15.75 V is from 14.9625 V.
  CHECK(bounded(R"({ nominal = "15.75 V", within = "5%" })"));
  CHECK_FALSE(bounded(R"({ nominal = "15.8 V", within = "5%" })"));
  // A percentage is of the magnitude.
  CHECK(holds(expecting(kDivider,
                        "part = \"v\"\npin = \"plus\"\ncurrent = { nominal = \"-2.05 "
                        "mA\", within = \"5%\" }")));
}

TEST_CASE("an expectation that fails names value, bounds, reason and source",
          "[check][expect]") {
  const auto bench = expecting(
      kDivider,
      "net = \"n3\"\nvoltage = { nominal = \"16 V\", within = \"500 mV\" }\n"
      "why = \"the lamp needs it\"\nsource = \"the book, p. 7\"\nmark = \"memory\"\n");
  const Finding* finding = find(bench.verification.states[0], "expectation");
  REQUIRE(finding != nullptr);
  CHECK(finding->severity == Severity::fault);
  CHECK(finding->net == "n3");
  CHECK(finding->quantity == "voltage");
  CHECK_THAT(finding->message, Catch::Contains("15 V, below the expected 15.5 V") &&
                                   Catch::Contains("16 V within 500 mV") &&
                                   Catch::Contains("the lamp needs it"));
  CHECK(finding->source == "the book, p. 7");
  CHECK(finding->mark == benchproof::Mark::memory);
  CHECK(finding->span.begin.line > 0);
  CHECK(*margin(*finding) < 0.0);
  CHECK(bench.verification.verdict == Verdict::fault);
}

TEST_CASE("on PWM the average is meant, or a phase", "[check][expect][pwm]") {
  const std::string bounds = "current = { min = \"0 A\" }\n";
  // A leak of the high output to vss, 5 V over 5 Mohm, does not pass the resistor.
  CHECK_THAT(value_of(expecting(kPwm, "part = \"r\"\n" + bounds)),
             WithinRel(2.5e-3, 1e-6));
  CHECK_THAT(value_of(expecting(kPwm, "part = \"r\"\nphase = \"on\"\n" + bounds)),
             WithinRel(10e-3, 1e-6));
  const auto off =
      value_of(expecting(kPwm, "part = \"r\"\nphase = \"off\"\n" + bounds));
  CHECK(std::abs(off) < 1e-9);
  // Heat: a quarter of 50 mW, not the square of the average current.
  CHECK_THAT(value_of(expecting(kPwm, "part = \"r\"\npower = { min = \"0 W\" }\n")),
             WithinRel(12.5e-3, 1e-6));
}

TEST_CASE("a junction's temperature follows from its power", "[check][expect]") {
  // 12 V * 8 mA with no load, 65 K/W (onsemi MC7800).
  const std::string text = R"(ambient = "40 C"
[parts]
v = { kind = "voltage-source", voltage = "12 V" }
x = { kind = "regulator", type = "7805" }
r = { kind = "resistor", value = "1M" }
[nets]
in = ["v.plus", "x.in"]
out = ["x.out", "r.a"]
ground = ["v.minus", "x.common", "r.b"]
[[expect]]
part = "x"
temperature = { max = "85 C" }
)";
  const double celsius = value_of(verified(text));
  // The load adds 7 V * 5 uA * 65 K/W, 2 mK.
  CHECK_THAT(celsius, WithinRel(40.0 + 65.0 * 12.0 * 8e-3, 1e-4));
}

TEST_CASE("an expectation is held in its state, or in every steady one",
          "[check][expect]") {
  const auto bench = verified(kDivider + R"([states.one]
[states.two]
"v.voltage" = "30 V"
[states.between]
steady = false
"v.voltage" = "1 V"
[[expect]]
net = "n3"
voltage = { min = "9 V" }
[[expect]]
state = "two"
net = "n3"
voltage = { max = "9 V" }
)");
  const auto& states = bench.verification.states;
  REQUIRE(states.size() == 2);
  CHECK(states[0].expectations.size() == 1);
  REQUIRE(states[1].expectations.size() == 2);
  CHECK(states[1].expectations[0].holds);
  CHECK_FALSE(states[1].expectations[1].holds);
}
