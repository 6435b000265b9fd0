// What is read of copies is what `verify` reads of the same state.
#include "core/tolerance/copy/gauges.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "core/check/expect/expectations.h"
#include "core/check/rest/limits.h"
#include "tests/nodal_witness.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinRel;

namespace {

// The same sums in the same order, but for factors taken in at once.
constexpr double kSame = 1e-12;

void hold(double read, double wanted) {
  if (std::isnan(wanted)) {
    CHECK(std::isnan(read));
    return;
  }
  if (wanted == 0.0) {
    CHECK(read == 0.0);
    return;
  }
  CHECK_THAT(read, WithinRel(wanted, kSame));
}

}  // namespace

TEST_CASE("gauges read of each template what the checks measure there",
          "[tolerance][gauges]") {
  std::size_t expectations = 0, ratings = 0;
  for (const Circuit& circuit : templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    for_states(circuit, spreads, [&](const CopiedState& state) {
      // As described, and where all is a third of the way up.
      for (std::vector<double> places :
           {as_described(spreads), std::vector<double>(spreads.size(), 1.0 / 3.0)}) {
        const auto seen = seen_at(state, places.data(), by_nodal);
        REQUIRE(seen);
        const std::vector<double> values = values_at(state, places.data(), *seen);
        const Circuit there = circuit_at(state, places.data());
        const CheckInput posed = check_input(state.posed(), *seen);
        const CheckInput input =
            check_input(there, posed.state, posed.parts, posed.phases, posed.average);
        for (std::size_t g = 0; g < values.size(); ++g) {
          const Gauge& gauge = state.gauges()[g];
          CAPTURE(gauge.check, gauge.part, gauge.pin);
          if (gauge.of == Gauge::Of::expectation) {
            hold(values[g], quantity_of(input, *gauge.expectation));
            ++expectations;
          } else if (gauge.of == Gauge::Of::rating) {
            const int pin = gauge.pin < 0 ? gauge.rating->measure.pin : gauge.pin;
            const auto wanted = measured(input, gauge.part, *gauge.rating, pin);
            hold(values[g], wanted ? wanted->value : std::nan(""));
            ++ratings;
          }
        }
      }
    });
  }
  CHECK(expectations > 100 / kOneOf);
  CHECK(ratings > 500 / kOneOf);
}

TEST_CASE("a template's gauges have a failure where the checks have a fault",
          "[tolerance][gauges]") {
  // A red LED of 20 mA (25 mA at most) behind too small a resistor.
  const Circuit circuit = described(R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r = { kind = "resistor", value = "47R" }
lamp = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "r.a"]
top = ["r.b", "lamp.anode"]
ground = ["feed.minus", "lamp.cathode"]
)");
  const std::vector<Spread> spreads = spreads_of(circuit);
  for_states(circuit, spreads, [&](const CopiedState& state) {
    bool fails_there = false;
    for (std::size_t g = 0; g < state.gauges().size(); ++g)
      if (state.gauges()[g].of == Gauge::Of::rating && state.gauges()[g].part == 2)
        fails_there = fails_there || fails(state.gauges()[g], state.nominal()[g]);
    CHECK(fails_there);
  });
}

TEST_CASE("limits that fail are passed by more than the solvers' blur",
          "[tolerance][gauges]") {
  Gauge rating;
  rating.of = Gauge::Of::rating;
  rating.upper = 0.1;
  CHECK_FALSE(fails(rating, 0.1));
  CHECK_FALSE(fails(rating, 0.1 * (1.0 + 1e-13)));
  CHECK(fails(rating, 0.1001));
  Gauge expectation;
  expectation.of = Gauge::Of::expectation;
  expectation.lower = 1.0;
  expectation.upper = 2.0;
  CHECK_FALSE(fails(expectation, 1.0));
  CHECK_FALSE(fails(expectation, 2.0));
  CHECK(fails(expectation, 0.999));
  CHECK(fails(expectation, 2.001));
  CHECK_FALSE(fails(expectation, std::nan("")));
}

TEST_CASE("lamps that are to look alike are told by the brightest over the dimmest",
          "[tolerance][gauges]") {
  const Circuit circuit = described(R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
r1 = { kind = "resistor", value = "330R" }
r2 = { kind = "resistor", value = "330R" }
one = { kind = "led", colour = "red" }
two = { kind = "led", colour = "red" }
other = { kind = "led", colour = "green" }
r3 = { kind = "resistor", value = "330R" }
[nets]
rail = ["feed.plus", "r1.a", "r2.a", "r3.a"]
a = ["r1.b", "one.anode"]
b = ["r2.b", "two.anode"]
c = ["r3.b", "other.anode"]
ground = ["feed.minus", "one.cathode", "two.cathode", "other.cathode"]
)");
  const std::vector<Spread> spreads = spreads_of(circuit);
  for_states(circuit, spreads, [&](const CopiedState& state) {
    const std::size_t g = gauge_of(state, Gauge::Of::alike, "ratio");
    CHECK(state.gauges()[g].parts.size() == 2);
    CHECK_THAT(state.nominal()[g], WithinRel(1.0, 1e-9));
    std::vector<double> places = as_described(spreads);
    places[index_of(spreads, "r1.value")] = 0.0;
    const auto seen = seen_at(state, places.data(), by_nodal);
    REQUIRE(seen);
    const std::vector<double> values = values_at(state, places.data(), *seen);
    const CheckInput input = check_input(state.posed(), *seen);
    // Light goes with the current.
    CHECK_THAT(
        values[g],
        WithinRel(input.average.pin_amps[3][0] / input.average.pin_amps[4][0], 1e-9));
    CHECK(values[g] > 1.02);
  });
}
