// Copies: each is what its number makes it, whatever else is asked for and by whatever
// threads.
#include "core/tolerance/states/copies.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <memory>
#include <thread>

#include "tests/nodal_witness.h"
#include "tests/unit/tolerance/copied.h"

using namespace benchproof;
using namespace benchproof::test;
using Catch::WithinAbs;
using Catch::WithinRel;

namespace {

const std::string kTwoLamps = R"(
[parts]
feed = { kind = "dc-supply", voltage = "5 V", current = "500 mA", regulated = true }
chip = { kind = "controller", type = "cmos-5v", outputs = ["quay"] }
r1 = { kind = "resistor", value = "330R" }
r2 = { kind = "resistor", value = "470R" }
one = { kind = "led", colour = "red" }
two = { kind = "led", colour = "red" }
[nets]
rail = ["feed.plus", "r1.a", "chip.vdd"]
quay = ["chip.quay", "r2.a"]
a = ["r1.b", "one.anode"]
b = ["r2.b", "two.anode"]
ground = ["feed.minus", "one.cathode", "two.cathode", "chip.vss"]
[states.on]
"chip.quay" = { pwm = "50%", frequency = "500 Hz" }
[states.off]
[[expect]]
part = "one"
current = { min = "8.5 mA", max = "10 mA" }
)";

/// Each job in a thread of its own.
void in_threads(std::size_t jobs, const std::function<void(std::size_t)>& job) {
  std::vector<std::thread> threads;
  for (std::size_t k = 0; k < jobs; ++k) threads.emplace_back(job, k);
  for (std::thread& thread : threads) thread.join();
}

/// The last job first, all in one thread.
void backwards(std::size_t jobs, const std::function<void(std::size_t)>& job) {
  for (std::size_t k = jobs; k-- > 0;) job(k);
}

/// Copies of all states of a circuit.
CopiesResult copies_of(const Circuit& circuit, const std::vector<Spread>& spreads,
                       std::size_t count, std::uint64_t seed,
                       const SideBySide& side_by_side = in_turn) {
  std::vector<std::unique_ptr<Copied>> all;
  std::vector<const CopiedState*> states;
  for (const State& state : circuit.states) {
    all.push_back(std::make_unique<Copied>(circuit, state, spreads));
    states.push_back(&all.back()->state);
  }
  return measure_copies(states, count, seed, side_by_side);
}

}  // namespace

TEST_CASE("a histogram tells the value below which a share lies",
          "[tolerance][copies]") {
  Histogram histogram;
  histogram.least = 0.0;
  histogram.most = 10.0;
  histogram.cells.assign(100, 0);
  for (int k = 0; k < 1000; ++k)
    histogram.add(0.005 + 0.01 * k, histogram.cells_per_unit());
  // A cell is 0.1 wide, and within one they lie evenly here.
  for (const double share : {0.01, 0.25, 0.5, 0.99, 1.0})
    CHECK_THAT(histogram.at(share), WithinAbs(10.0 * share, 1e-9));
  // What lies beyond counts in the last cell there.
  histogram.add(-5.0, histogram.cells_per_unit());
  histogram.add(50.0, histogram.cells_per_unit());
  CHECK(histogram.cells.front() == 11);
  CHECK(histogram.cells.back() == 11);

  Histogram still;
  still.least = still.most = 3.0;
  still.cells.assign(10, 0);
  still.add(3.0, still.cells_per_unit());
  CHECK(still.at(0.5) == 3.0);
}

TEST_CASE("a copy is a function of series and number", "[tolerance][copies]") {
  const Circuit circuit = described(kTwoLamps);
  const std::vector<Spread> spreads = spreads_of(circuit);
  std::vector<double> straight(spreads.size()), back(spreads.size()),
      other(spreads.size());
  Draw first(spreads, 7), second(spreads, 7), series(spreads, 8);
  std::vector<std::vector<double>> all;
  for (std::size_t k = 0; k < 100; ++k) {
    first.places(k, straight.data());
    all.push_back(straight);
  }
  for (std::size_t k = 100; k-- > 0;) {
    second.places(k, back.data());
    CHECK(back == all[k]);
    series.places(k, other.data());
    CHECK(other != all[k]);
  }
  CHECK(all[0] != all[1]);
  // A spread more, with a draw of its own, leaves the others as they are.
  std::vector<Spread> more = spreads;
  more.push_back(spreads.front());
  more.back().draw = draws_of(spreads);
  std::vector<double> with(more.size());
  Draw(more, 7).places(42, with.data());
  with.pop_back();
  CHECK(with == all[42]);
}

TEST_CASE("a chip's pins and parts of one reel are at one place in every copy",
          "[tolerance][copies]") {
  const Circuit circuit =
      described(kTwoLamps + "[tolerances]\ntogether = [\"r1\", \"r2\"]\n");
  const std::vector<Spread> spreads = spreads_of(circuit);
  const auto at = [&](const char* target) { return index_of(spreads, target); };
  Draw draw(spreads, 1);
  std::vector<double> places(spreads.size());
  for (std::size_t k = 0; k < 50; ++k) {
    draw.places(k, places.data());
    CHECK(places[at("r1.value")] == places[at("r2.value")]);
    CHECK(places[at("chip.resistance_high")] == places[at("chip.resistance_low")]);
    CHECK(places[at("one.forward")] != places[at("two.forward")]);
  }
}

TEST_CASE("uniform and normal copies have the moments of their distributions",
          "[tolerance][copies]") {
  std::vector<Spread> spreads(2);
  spreads[1].is_normal = true;
  spreads[1].draw = 1;
  Draw draw(spreads, 3);
  constexpr int kCount = 200'000;
  double sum[2] = {}, squares[2] = {}, least = 1.0, most = 0.0;
  int within = 0;
  for (std::size_t k = 0; k < kCount; ++k) {
    double places[2];
    draw.places(k, places);
    for (int s = 0; s < 2; ++s) {
      sum[s] += places[s];
      squares[s] += places[s] * places[s];
    }
    least = std::min({least, places[0], places[1]});
    most = std::max({most, places[0], places[1]});
    within += std::abs(places[1] - 0.5) < 1.0 / 6.0 ? 1 : 0;
  }
  CHECK(least >= 0.0);
  CHECK(most <= 1.0);
  // A bell cut at 3 sigma: its variance is (1 - 6 phi(3) / (2 Phi(3) - 1)) sigma^2.
  const double phi = std::exp(-4.5) / std::sqrt(2.0 * std::acos(-1.0));
  const double mass = std::erf(3.0 / std::sqrt(2.0));
  const double variances[2] = {1.0 / 12.0, (1.0 - 6.0 * phi / mass) / 36.0};
  for (int s = 0; s < 2; ++s) {
    const double mean = sum[s] / kCount;
    const double variance = squares[s] / kCount - mean * mean;
    // Four standard errors of so many; of a variance at most sqrt(2) of it for a bell.
    CHECK_THAT(mean, WithinAbs(0.5, 4.0 * std::sqrt(variances[s] / kCount)));
    CHECK_THAT(variance, WithinRel(variances[s], 4.0 * std::sqrt(2.0 / kCount)));
  }
  const double one_sigma = std::erf(1.0 / std::sqrt(2.0)) / mass;
  CHECK_THAT(
      within / static_cast<double>(kCount),
      WithinAbs(one_sigma, 4.0 * std::sqrt(one_sigma * (1 - one_sigma) / kCount)));
}

TEST_CASE("what copies show does not hang on threads or their order",
          "[tolerance][copies]") {
  const Circuit circuit = described(kTwoLamps);
  const std::vector<Spread> spreads = spreads_of(circuit);
  constexpr std::size_t kCount = 20'001;  // Five chunks, the last of them short.
  const CopiesResult one = copies_of(circuit, spreads, kCount, 5);
  CHECK(one.works > 0);
  CHECK(one.works < kCount);
  CHECK(one.unsolved == 0);
  CHECK(one.failing.size() == kMostFailing);
  for (const SideBySide& way : {SideBySide(in_threads), SideBySide(backwards)}) {
    const CopiesResult other = copies_of(circuit, spreads, kCount, 5, way);
    CHECK(other.works == one.works);
    CHECK(other.failing == one.failing);
    CHECK(other.handed_on == one.handed_on);
    REQUIRE(other.states.size() == one.states.size());
    for (std::size_t s = 0; s < one.states.size(); ++s) {
      for (std::size_t g = 0; g < one.states[s].size(); ++g) {
        const GaugeCopies& a = one.states[s][g];
        const GaugeCopies& b = other.states[s][g];
        CHECK(a.failed == b.failed);
        CHECK(a.mean == b.mean);
        CHECK(a.deviation == b.deviation);
        CHECK(a.least == b.least);
        CHECK(a.most == b.most);
        CHECK(a.histogram.cells == b.histogram.cells);
      }
    }
  }
}

TEST_CASE("copies are the states solved by themselves", "[tolerance][copies]") {
  // The batch against one network after the other from a cold start, on every template.
  for (const Circuit& circuit : templates()) {
    const std::vector<Spread> spreads = spreads_of(circuit);
    for_states(circuit, spreads, [&](const CopiedState& state) {
      Measurer measurer(state);
      Draw draw(spreads, 11);
      const auto places_of = [&](std::size_t k, double* places) {
        draw.places(k, places);
      };
      measurer.measure(100, 12, places_of, [&](const Measurer::Copy& copy) {
        REQUIRE(copy.is_solved);
        std::vector<double> places(spreads.size());
        draw.places(copy.index, places.data());
        const auto seen = seen_at(state, places.data(), by_nodal);
        REQUIRE(seen);
        const std::vector<double> wanted = values_at(state, places.data(), *seen);
        for (std::size_t g = 0; g < wanted.size(); ++g) {
          const Gauge& gauge = state.gauges()[g];
          CAPTURE(copy.index, gauge.check, gauge.quantity, gauge.part, gauge.net);
          if (std::isnan(wanted[g])) continue;
          // Newton's method stops at 1e-9 of a voltage; small differences of these, and
          // what only leaks, to a microvolt and a nanoampere.
          CHECK(std::abs(copy.values[g] - wanted[g]) <=
                1e-6 * std::abs(wanted[g]) + 1e-6);
        }
      });
    });
  }
}
