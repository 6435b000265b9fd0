#include "core/network/record.h"

#include <cmath>

#include "tests/unit/check/bench.h"

// Traces are straight between their points, so that a triangle's figures are exact.

namespace benchproof {
namespace {

using bench::read;
using Catch::WithinAbs;
using Catch::WithinRel;

const std::vector<double> kTimes = {0.0, 1.0, 2.0, 4.0};
Trace triangle() { return {&kTimes, {0.0, 3.0, 0.0, 0.0}}; }

}  // namespace

TEST_CASE("a trace's value lies on the line between its points", "[record]") {
  CHECK(value_at(triangle(), -1.0) == 0.0);
  CHECK(value_at(triangle(), 0.5) == 1.5);
  CHECK(value_at(triangle(), 1.0) == 3.0);
  CHECK(value_at(triangle(), 9.0) == 0.0);
}

TEST_CASE("extremes, mean and root mean square over a stretch", "[record]") {
  const Extremes e = extremes(triangle(), {0.0, 2.0});
  CHECK(e.highest == 3.0);
  CHECK(e.highest_at == 1.0);
  CHECK(e.lowest == 0.0);
  CHECK_THAT(e.mean, WithinRel(1.5, 1e-15));
  // A triangle's root mean square is its peak over the root of three.
  CHECK_THAT(e.rms, WithinRel(3.0 / std::sqrt(3.0), 1e-15));
  SECTION("a stretch that begins and ends between points") {
    const Extremes part = extremes(triangle(), {0.5, 1.5});
    CHECK(part.lowest == 1.5);
    CHECK_THAT(part.mean, WithinRel(2.25, 1e-15));
  }
  SECTION("a sine's is its peak over the root of two") {
    // Straight pieces of a sine: off by (h^2/12) of the whole, h = 2 pi / 1000.
    std::vector<double> times;
    Trace sine{&times, {}};
    for (int k = 0; k <= 1000; ++k) {
      times.push_back(k / 1000.0);
      sine.values.push_back(std::sin(2 * M_PI * k / 1000.0));
    }
    CHECK_THAT(extremes(sine, {0.0, 1.0}).rms, WithinRel(std::sqrt(0.5), 4e-6));
  }
}

TEST_CASE("crossings tell each passage of a level in one direction", "[record]") {
  CHECK(crossings(triangle(), 1.5, true) == std::vector<double>{0.5});
  CHECK(crossings(triangle(), 1.5, false) == std::vector<double>{1.5});
  CHECK(crossings(triangle(), 3.5, true).empty());
}

TEST_CASE("stretches beyond a level join where they touch", "[record]") {
  const auto above = beyond(triangle(), 1.5, true, {0.0, 4.0});
  REQUIRE(above.size() == 1);
  CHECK(above[0].from == 0.5);
  CHECK(above[0].to == 1.5);
  const auto below = beyond(triangle(), 1.5, false, {0.0, 4.0});
  REQUIRE(below.size() == 2);
  CHECK(below[1].from == 1.5);
  CHECK(below[1].to == 4.0);
  CHECK(beyond(triangle(), 1.5, true, {2.0, 4.0}).empty());
}

TEST_CASE("a record turns rows into voltages, currents and powers of parts",
          "[record]") {
  const Catalogue catalogue = built_in_catalogue();
  const Circuit circuit = read(catalogue, R"([parts]
v = { kind = "dc-supply", voltage = "5 V" }
r = { kind = "resistor", value = "1k" }
[nets]
rail = ["v.plus", "r.a"]
ground = ["v.minus", "r.b"]
[[runs]]
name = "up"
state = "steady"
span = "2 s"
)");
  const Timeline timeline = make_timeline(circuit, circuit.runs[0]);
  Waveform w;
  w.status = SolveStatus::solved;
  w.seconds = {0.0, 2.0};
  w.width = row_width(*timeline.network.structure);
  REQUIRE(w.width == 3);  // ground, rail, the source
  w.rows = {0.0, 0.0, 0.0, 0.0, 5.0, -5e-3};
  const Record record(circuit, timeline, w);
  CHECK(record.volts(1).values == std::vector<double>{0.0, 5.0});
  CHECK(record.volts(-1).values == std::vector<double>{0.0, 0.0});
  CHECK(record.volts(circuit.parts[1], 1, 0).values.back() == -5.0);
  CHECK_THAT(record.amps(1, 0).values.back(), WithinRel(5e-3, 1e-15));
  CHECK_THAT(record.amps(0, 0).values.back(), WithinRel(-5e-3, 1e-15));
  CHECK_THAT(record.watts(1).values.back(), WithinRel(25e-3, 1e-15));
  CHECK_THAT(record.watts(0).values.back(), WithinAbs(-25e-3, 1e-15));
}

}  // namespace benchproof
