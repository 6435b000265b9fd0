// Worst cases against closed forms: at corners, at mixed ones, and at inner points.
#include "core/tolerance/states/worst_case.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/tolerance/states/copies.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

/// The worst case of a circuit's first expectation in its first state.
WorstCase worst_expectation(const Circuit& circuit) {
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  return worst_cases(copied.state).front();
}

// Newton's method settles linear networks to rounding; a corner is where it is.
constexpr double kLinear = 1e-9;

}  // namespace

TEST_CASE("a divider is worst at mixed corners", "[tolerance][worst]") {
  const WorstCase worst = worst_expectation(described(R"(
[parts]
v = { kind = "voltage-source", voltage = "10 V" }
r1 = { kind = "resistor", value = "3k", tolerance = "10%" }
r2 = { kind = "resistor", value = "7k", tolerance = "5%" }
[nets]
in = ["v.plus", "r1.a"]
tap = ["r1.b", "r2.a"]
ground = ["v.minus", "r2.b"]
[[expect]]
net = "tap"
voltage = { min = "6.9 V", max = "8 V" }
)"));
  const auto tap = [](double r1, double r2) { return 10.0 * r2 / (r1 + r2); };
  CHECK_THAT(worst.least.value, WithinRel(tap(3300, 6650), kLinear));
  CHECK_THAT(worst.most.value, WithinRel(tap(2700, 7350), kLinear));
  CHECK(worst.least.fails);
  CHECK_FALSE(worst.most.fails);
  CHECK(worst.most.values == std::vector{2700.0, 7350.0});
}

TEST_CASE("parts of one reel are worst together", "[tolerance][worst]") {
  const WorstCase worst = worst_expectation(described(R"(
[parts]
v = { kind = "voltage-source", voltage = "10 V" }
r1 = { kind = "resistor", value = "3k", tolerance = "10%" }
r2 = { kind = "resistor", value = "7k", tolerance = "10%" }
load = { kind = "resistor", value = "2k1", tolerance = "5%" }
[nets]
in = ["v.plus", "r1.a"]
tap = ["r1.b", "r2.a", "load.a"]
ground = ["v.minus", "r2.b", "load.b"]
[tolerances]
together = ["r1", "r2"]
[[expect]]
net = "tap"
voltage = { min = "1 V" }
)"));
  // 7 V behind 2k1 times a common factor.
  CHECK_THAT(worst.least.value, WithinRel(7.0 * 0.95 / (1.1 + 0.95), kLinear));
  CHECK_THAT(worst.most.value, WithinRel(7.0 * 1.05 / (0.9 + 1.05), kLinear));
}

TEST_CASE("power in a matched load is most at an inner point", "[tolerance][worst]") {
  // P = V^2 R / (Rs + R)^2 is most where R is Rs, which lies within R's bounds, and not
  // at a place that is looked at first.
  const double source = GENERATE(80.0, 93.0, 101.0, 107.5, 118.0);
  const WorstCase worst = worst_expectation(
      described("[parts]\nv = { kind = \"voltage-source\", voltage = \"2 V\" }\n"
                "rs = { kind = \"resistor\", value = \"" +
                std::to_string(source) + " ohm\" }\n" +
                R"(load = { kind = "resistor", value = "100 ohm" }
[nets]
in = ["v.plus", "rs.a"]
top = ["rs.b", "load.a"]
ground = ["v.minus", "load.b"]
[tolerances]
"rs.value" = "0.001%"
"load.value" = "20%"
[[expect]]
part = "load"
power = { max = "1 W" }
)"));
  const double rs = source * (1.0 - 1e-5);
  const double at = std::clamp(rs, 80.0, 120.0);
  CHECK_THAT(worst.most.value, WithinRel(4.0 * at / ((rs + at) * (rs + at)), 1e-7));
}

TEST_CASE("a bridge's power is worst where two diagonals part", "[tolerance][worst]") {
  // Balanced as described: no slope tells a direction. The detector's current goes as
  // the difference of two dividers, its power as the square; it is most in a meter that
  // matches the bridge's 997.5 ohm, which lies between its bounds.
  const WorstCase worst = worst_expectation(described(R"(
[parts]
v = { kind = "voltage-source", voltage = "10 V" }
a = { kind = "resistor", value = "1k", tolerance = "5%" }
b = { kind = "resistor", value = "1k", tolerance = "5%" }
c = { kind = "resistor", value = "1k", tolerance = "5%" }
d = { kind = "resistor", value = "1k", tolerance = "5%" }
meter = { kind = "resistor", value = "1k", tolerance = "1%" }
[nets]
in = ["v.plus", "a.a", "c.a"]
left = ["a.b", "b.a", "meter.a"]
right = ["c.b", "d.a", "meter.b"]
ground = ["v.minus", "b.b", "d.b"]
[[expect]]
part = "meter"
power = { max = "1 mW" }
)"));
  const double open = 10.0 * (1.05 - 0.95) / 2.0;
  const double inner = 2.0 * 1050.0 * 950.0 / 2000.0;
  const auto power = [&](double r) {
    return open * open * r / ((inner + r) * (inner + r));
  };
  CHECK_THAT(worst.most.value, WithinRel(power(inner), 1e-7));
  CHECK_THAT(worst.least.value, WithinAbs(0.0, 1e-15));
}

TEST_CASE("a limit that falls with the ambient temperature is passed where it is warm",
          "[tolerance][worst]") {
  // A 1N4148 takes 500 mW at 25 C and 0 at its junction's limit; current is not
  // moved by the air, what it bears is.
  const std::string text = R"(
ambient = "25 C"
[parts]
i = { kind = "current-source", current = "150 mA" }
d = { kind = "diode", type = "1N4148" }
[nets]
top = ["i.plus", "d.anode"]
ground = ["i.minus", "d.cathode"]
)";
  const auto failing = [](const Circuit& circuit) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    const Copied copied(circuit, circuit.states.front(), spreads);
    int count = 0;
    for (const WorstCase& worst : worst_cases(copied.state))
      count += worst.least.fails || worst.most.fails ? 1 : 0;
    return count;
  };
  CHECK(failing(described(text)) == 0);
  CHECK(failing(described(text + "[tolerances]\nambient = { min = \"15 C\", max = "
                                 "\"140 C\" }\n")) > 0);
}

TEST_CASE("no copy is worse than the worst case", "[tolerance][worst]") {
  for (const Circuit& circuit : templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    for_states(circuit, spreads, [&](const CopiedState& state) {
      const std::vector<WorstCase> worst = worst_cases(state);
      const CopiesResult copies = measure_copies({&state}, 2'000, 3, in_turn);
      for (std::size_t g = 0; g < worst.size(); ++g) {
        const Gauge& gauge = state.gauges()[g];
        CAPTURE(gauge.check, gauge.quantity, gauge.part, gauge.net);
        if (std::isnan(state.nominal()[g])) continue;
        const GaugeCopies& seen = copies.states.front()[g];
        // What is below the blur of Newton's method (see copies_test) is no difference.
        const double blur = 1e-9 + 1e-8 * std::abs(state.nominal()[g]);
        CHECK(worst[g].least.value <= seen.least + blur);
        CHECK(worst[g].most.value >= seen.most - blur);
      }
    });
  }
}
