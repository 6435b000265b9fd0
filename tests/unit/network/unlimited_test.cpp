#include "core/network/unlimited.h"

#include <catch2/catch.hpp>
#include <limits>
#include <vector>

#include "tests/truth/hand_network.h"

// By Kirchhoff's voltage law alone: a loop of sources and junctions without resistance
// has a solution or it has none.

namespace benchproof {
namespace {

using test::HandNetwork;

/// Holds nearly nothing: a textbook's ideal diode.
DiodeModel sharp() {
  DiodeModel m;
  m.is = 1e-12;
  m.n = 1e-5;
  return m;
}

/// The hand network with every element numbered as a part of its own: sources first,
/// then inductors, diodes, transistors.
std::vector<int> loop_of(HandNetwork hand) {
  int part = 0;
  for (auto* list : {&hand.structure.voltage_sources, &hand.structure.inductors,
                     &hand.structure.diodes}) {
    for (TwoEnds& e : *list) e.origin.part = part++;
  }
  for (ThreeEnds& e : hand.structure.bipolars) e.origin.part = part++;
  return unlimited_loop(hand.network());
}

}  // namespace

TEST_CASE("a diode straight across a source has nothing to limit it", "[unlimited]") {
  HandNetwork hand(2);
  hand.voltage_source(1, 0, 5.0);
  SECTION("forward: the diode is told first") {
    hand.diode(1, 0, sharp());
    CHECK(loop_of(hand) == std::vector<int>{1, 0});
  }
  SECTION("reversed it blocks") {
    hand.diode(0, 1, sharp());
    CHECK(loop_of(hand).empty());
  }
  SECTION("beyond its breakdown, and below") {
    DiodeModel zener = sharp();
    zener.nbv = 1e-5;
    zener.ibv = 5e-3;
    zener.bv = GENERATE(4.9, 5.1);
    hand.diode(0, 1, zener);
    CHECK(loop_of(hand).empty() == (zener.bv > 5.0));
  }
  SECTION("a series resistance of its own that keeps it below 100 A") {
    DiodeModel leads = sharp();
    leads.rs = GENERATE(40e-3, 60e-3);  // 5 V over 50 mohm are 100 A
    hand.diode(1, 0, leads);
    CHECK(loop_of(hand).empty() == (leads.rs > 50e-3));
  }
}

TEST_CASE("a resistor anywhere in the loop limits it", "[unlimited]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, 1.0);
  hand.diode(2, 0, sharp());
  CHECK(loop_of(hand).empty());
}

TEST_CASE("drops in series bear a source up to their sum", "[unlimited]") {
  // Two ideal drops of 2 V: sources before sharp diodes.
  const double volts = GENERATE(3.9, 4.1);
  HandNetwork hand(5);
  hand.voltage_source(1, 0, volts);
  hand.voltage_source(1, 2, 2.0);
  hand.diode(2, 3, sharp());
  hand.voltage_source(3, 4, 2.0);
  hand.diode(4, 0, sharp());
  const std::vector<int> loop = loop_of(hand);
  CHECK(loop.empty() == (volts < 4.0));
  if (!loop.empty()) CHECK(loop.size() == 5);
}

TEST_CASE("a transistor's base-emitter junction counts, of either polarity",
          "[unlimited]") {
  const bool is_pnp = GENERATE(false, true);
  BipolarModel m;
  m.is = 1e-14;
  m.bf = 100.0;
  m.is_pnp = is_pnp;
  HandNetwork hand(3);
  hand.voltage_source(1, 0, is_pnp ? -5.0 : 5.0);
  hand.resistor(2, 0, 1e3);
  hand.bipolar(2, 1, 0, m);
  CHECK(loop_of(hand) == std::vector<int>{1, 0});
  HandNetwork other = hand;
  other.values.volts[0] *= -1.0;
  CHECK(loop_of(other).empty());
}

TEST_CASE("an inductor is a short at rest", "[unlimited]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 5.0);
  hand.structure.inductors.push_back({1, 2, {}});
  hand.values.coils.push_back({1e-3});
  hand.diode(2, 0, sharp());
  CHECK(loop_of(hand) == std::vector<int>{2, 1, 0});
}

}  // namespace benchproof
