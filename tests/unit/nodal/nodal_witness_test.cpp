#include "core/nodal/nodal_witness.h"

#include <catch2/catch.hpp>
#include <memory>

using namespace benchproof;
using Catch::WithinRel;

namespace {

/// A source of 5 V, a resistor and a diode in a loop.
std::shared_ptr<const Structure> loop_structure() {
  auto structure = std::make_shared<Structure>();
  structure->nodes = {"ground", "in", "out"};
  structure->nets = 3;
  structure->voltage_sources = {{1, 0, {}}};
  structure->resistors = {{1, 2, {}}};
  structure->diodes = {{2, 0, {}}};
  return structure;
}

Network loop(std::shared_ptr<const Structure> structure, double ohms) {
  Network network;
  network.structure = std::move(structure);
  network.values.volts = {5.0};
  network.values.ohms = {ohms};
  network.values.diodes = {DiodeModel{}};
  return network;
}

}  // namespace

TEST_CASE("the nodal witness keeps the solvers of the latest structures",
          "[nodal][witness]") {
  NodalWitness witness;
  const auto first = loop_structure();
  CHECK(witness.solve(loop(first, 1e3)).status == SolveStatus::solved);
  CHECK(witness.solve(loop(first, 2e3)).status == SolveStatus::solved);
  CHECK(witness.counts().solvers == 1);
  // Used in between, the first one is never the least recently used.
  for (std::size_t k = 0; k < 3 * NodalWitness::kMostSolvers; ++k) {
    static_cast<void>(witness.solve(loop(loop_structure(), 1e3)));
    static_cast<void>(witness.solve(loop(first, 1e3)));
  }
  CHECK(witness.counts().solvers == 1 + 3 * NodalWitness::kMostSolvers);
  // Unused, it goes, and is made anew.
  for (std::size_t k = 0; k < NodalWitness::kMostSolvers; ++k)
    static_cast<void>(witness.solve(loop(loop_structure(), 1e3)));
  const std::size_t before = witness.counts().solvers;
  static_cast<void>(witness.solve(loop(first, 1e3)));
  CHECK(witness.counts().solvers == before + 1);
}

TEST_CASE("a near start takes fewer steps and gives the same", "[nodal][witness]") {
  NodalWitness near;
  NodalWitness cold;
  const auto structure = loop_structure();
  for (int k = 0; k < 100; ++k) {
    // Two resistances in turn, far apart, each moving a little.
    const double ohms = (k % 2 == 0 ? 1e3 : 1e6) * (1.0 + 0.001 * k);
    const Network network = loop(structure, ohms);
    const Solution a = near.solve_near(network);
    const Solution b = cold.solve(network);
    REQUIRE(a.status == SolveStatus::solved);
    // NodalOptions::relative, of either's last step.
    CHECK_THAT(a.volts[2], WithinRel(b.volts[2], 2e-9));
  }
  CHECK(near.counts().cold == 1);
  CHECK(near.counts().near == 99);
  CHECK(cold.counts().cold == 100);
  CHECK(3 * near.counts().iterations < 2 * cold.counts().iterations);
}

// A pin whose network alternates with the same one of strong pins: one resistance of
// two values, while another one moves.
TEST_CASE("networks in turn each start near their own kind", "[nodal][witness]") {
  auto structure = std::make_shared<Structure>(*loop_structure());
  structure->nodes = {"ground", "in", "out", "middle"};
  structure->nets = 4;
  structure->resistors = {{1, 3, {}}, {3, 2, {}}};
  NodalWitness in_turn;
  NodalWitness alone;
  std::size_t together = 0;
  const auto network = [&](double pin, double ohms) {
    Network n = loop(structure, ohms);
    n.values.ohms = {pin, ohms};
    return n;
  };
  for (int k = 0; k < 50; ++k) {
    const double ohms = 100.0 * (1.0 + 0.01 * k);
    static_cast<void>(in_turn.solve_near(network(1e4, ohms)));
    static_cast<void>(in_turn.solve_near(network(25.0, ohms)));
    static_cast<void>(alone.solve_near(network(1e4, ohms)));
  }
  NodalWitness other;
  for (int k = 0; k < 50; ++k)
    static_cast<void>(other.solve_near(network(25.0, 100.0 * (1.0 + 0.01 * k))));
  together = alone.counts().iterations + other.counts().iterations;
  CAPTURE(in_turn.counts().iterations, together);
  // The first of the second kind starts near the first kind: some steps more or fewer.
  CHECK(in_turn.counts().iterations <= together + 5);
}
