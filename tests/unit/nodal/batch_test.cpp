#include "core/nodal/batch.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"
#include "core/network/equations.h"
#include "core/network/lower.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/from_environment.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/quad_network.h"
#include "tests/truth/random_network.h"

// The scalar solver, itself held against the engine, books and closed forms, is what
// the batched one has to agree with.

namespace benchproof {
namespace {

constexpr std::uint64_t kSeed = 20261125;

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
  for (MosModel& m : v.mosfets) {
    m.kp *= by(random);
    m.rd *= by(random);
  }
  for (RegulatorModel& m : v.regulators) m.output *= by(random);
  network.celsius += 50.0 * (by(random) - 1.0);
  return network;
}

}  // namespace

/// Whether no node's voltage is further from where `right` has it than `share` of it
/// and `least` volt.
bool are_same(const Solution& found, const Solution& right, double share,
              double least = 1e-12) {
  for (std::size_t node = 0; node < found.volts.size(); ++node) {
    const double off = std::abs(found.volts[node] - right.volts[node]);
    if (!(off <= least + share * std::abs(right.volts[node]))) return false;
  }
  return true;
}

TEST_CASE("copies of random networks are what the scalar solver says",
          "[nodal][batch]") {
  constexpr std::size_t kCopies = 5;  // Not a multiple of any number of lanes.
  const std::uint64_t samples = test::from_environment("BENCHPROOF_SAMPLES", 2000);
  std::size_t copies = 0;
  std::size_t handed_on = 0;
  std::size_t moved_by_rounding = 0;
  for (std::uint64_t sample = 0; sample < samples; ++sample) {
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
          if (are_same(found, alone, 1e-9)) return;
          // Rounding moves both, as where microohms and megohms meet: how far is told
          // by the network's solution to 34 digits.
          ++moved_by_rounding;
          test::QuadNetwork quad(network, alone);
          REQUIRE(quad.solve());
          // Where the exact answer is nothing, both are off by less than 1 nV.
          CHECK(are_same(found, quad.solution(), 1e-7, 1e-9));
        });
    CHECK(next == kCopies);
  }
  CAPTURE(copies, handed_on, moved_by_rounding);
  // Shares say something of many only; with sanitizers there are few.
  constexpr std::uint64_t kMany = 500;
  if (samples < kMany) return;
  CHECK(copies * 2 > samples * 7);
  CHECK(handed_on * 30 <= copies);
  CHECK(moved_by_rounding * 50 <= copies);
}

/// How far the node is off that is furthest off.
double furthest(const Solution& found, const Solution& right) {
  double volts = 0.0;
  for (std::size_t node = 0; node < found.volts.size(); ++node)
    volts = std::max(volts, std::abs(found.volts[node] - right.volts[node]));
  return volts;
}

// Every circuit of circuits/ in every state and phase, all its numbers some per cent up
// or down.
TEST_CASE("of copies of the circuits hardly any is handed on", "[nodal][batch]") {
  constexpr std::size_t kCopies = 200;
  const Catalogue catalogue = built_in_catalogue();
  std::size_t copies = 0;
  std::size_t handed_on = 0;
  double off_by_lanes = 0.0, off_by_scalar = 0.0;
  for (const auto& entry :
       std::filesystem::directory_iterator(BENCHPROOF_SOURCE_DIR "/circuits")) {
    if (entry.path().extension() != ".toml") continue;
    std::ifstream file(entry.path());
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const ReadResult read = read_circuit(text, entry.path().string(), catalogue);
    if (!read.circuit) continue;  // A catalogue.
    const Circuit& circuit = *read.circuit;
    for (const State& state : circuit.states) {
      for (const Phase& phase : phases(circuit, state)) {
        const Network nominal = lower(circuit, phase.state);
        NodalSolver scalar(nominal.structure);
        const Solution start = scalar.operating_point(nominal);
        CAPTURE(entry.path().filename().string(), state.name);
        REQUIRE(start.status == SolveStatus::solved);
        BatchSolver batch(nominal);
        batch.solve(
            0, kCopies,
            [&](std::size_t k, Network& network) { network = varied(nominal, k); },
            [&](std::size_t k, const Network& network, const Solution& found) {
              CAPTURE(k);
              const Solution alone = scalar.operating_point(network, &start);
              REQUIRE(found.status == SolveStatus::solved);
              CHECK(obeys(residual(network, found)));
              if (are_same(found, alone, 1e-9)) return;
              // In the dark LEDs hang on what leaks through a bipolar transistor,
              // beside whose own 15 mohm to 5 ohm rounding tells: of 12 V some tenths
              // of a picoampere.
              test::QuadNetwork quad(network, alone);
              REQUIRE(quad.solve());
              CHECK(are_same(found, quad.solution(), 1e-6));
              off_by_lanes = std::max(off_by_lanes, furthest(found, quad.solution()));
              off_by_scalar = std::max(off_by_scalar, furthest(alone, quad.solution()));
            });
        copies += batch.counts().copies;
        handed_on += batch.counts().handed_on;
      }
    }
  }
  CAPTURE(copies, handed_on, off_by_lanes, off_by_scalar);
  // Rounding moves both about as far: which further is chance.
  CHECK(off_by_lanes <= 3.0 * off_by_scalar);
  CHECK(copies > 10000);
  CHECK(handed_on * 1000 <= copies);
}

}  // namespace benchproof
