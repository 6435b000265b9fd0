#include "core/nodal/batch.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <random>
#include <utility>
#include <vector>

#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/random_network.h"

// The scalar solver, itself held against the engine, books and closed forms, is what
// the batched one has to agree with.

namespace benchproof {
namespace {

constexpr std::uint64_t kSeed = 20261130;

/// Every number of a network some per cent up or down, and its temperature by degrees.
Network varied(const Network& nominal, std::uint64_t copy) {
  std::mt19937_64 random(kSeed + copy);
  std::uniform_real_distribution<double> by(0.9, 1.1);
  Network network = nominal;
  Values& v = network.values;
  for (auto* list : {&v.ohms, &v.volts, &v.amps}) {
    for (double& value : *list) value *= by(random);
  }
  for (DiodeModel& m : v.diodes) {
    m.is *= by(random);
    m.rs *= by(random);
  }
  for (BipolarModel& m : v.bipolars) m.bf *= by(random);
  for (MosModel& m : v.mosfets) m.kp *= by(random);
  for (RegulatorModel& m : v.regulators) m.output *= by(random);
  network.celsius += 50.0 * (by(random) - 1.0);
  return network;
}

}  // namespace

TEST_CASE("copies of random networks are what the scalar solver says",
          "[nodal][batch]") {
  constexpr std::size_t kCopies = 5;  // Not a multiple of any number of lanes.
  std::size_t copies = 0;
  std::size_t handed_on = 0;
  for (std::uint64_t sample = 0; sample < 300; ++sample) {
    const Network nominal = test::random_network(kSeed, sample);
    NodalSolver scalar(nominal.structure);
    const Solution start = scalar.operating_point(nominal);
    if (start.status != SolveStatus::solved) continue;
    BatchSolver batch(nominal);
    std::size_t next = 0;
    std::size_t handed_on_before = 0;
    batch.solve(
        0, kCopies,
        [&](std::size_t k, Network& network) { network = varied(nominal, k); },
        [&](std::size_t k, const Network& network, const Solution& found) {
          CAPTURE(sample, k);
          CHECK(k == next++);
          const bool is_handed_on =
              std::exchange(handed_on_before, batch.counts().handed_on) !=
              batch.counts().handed_on;
          const Solution alone = scalar.operating_point(network, &start);
          // Other numbers may make of a junction one that nothing limits.
          if (alone.status != SolveStatus::solved || !obeys(residual(network, alone)))
            return;
          ++copies;
          handed_on += is_handed_on ? 1 : 0;
          REQUIRE(found.status == SolveStatus::solved);
          CHECK(obeys(residual(network, found)));
          for (std::size_t node = 0; node < found.volts.size(); ++node) {
            // Both settled to 1e-9 of their unknowns (NodalOptions): twenty times that,
            // for one of the 1,106 is handed on and settles slowly from a cold start.
            CHECK(std::abs(found.volts[node] - alone.volts[node]) <=
                  1e-9 + 2e-8 * std::abs(alone.volts[node]));
          }
        });
    CHECK(next == kCopies);
  }
  CAPTURE(copies, handed_on);
  CHECK(copies > 1000);
  // 19 with vectors of four, 30 without vectors, whose steps are rounded otherwise.
  CHECK(handed_on * 30 <= copies);
}

}  // namespace benchproof
