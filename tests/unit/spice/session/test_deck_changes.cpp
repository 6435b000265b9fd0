#include <catch2/catch.hpp>
#include <random>

#include "spice/deck/deck.h"
#include "spice/session/detail/deck_changes.h"
#include "tests/truth/hand_network.h"

namespace {

using benchproof::changes_between;
using Changes = std::vector<benchproof::wire::Change>;
using Lines = std::vector<std::string>;

const Lines kHeld{"circuit",     "r1 n1 n2 330",          "rm1 n2 n3 4",
                  "v1 n1 0 5",   "i1 0 n1 1e-3",          "d1 n2 0 md1",
                  "b1 n1 0 v=5", ".model md1 d is=1e-14", ".options reltol=1e-09",
                  ".end"};

/// The changes that another line in place of the k-th would be.
std::optional<Changes> with(std::size_t k, const std::string& line) {
  Lines wanted = kHeld;
  wanted.at(k) = line;
  return changes_between(kHeld, wanted);
}

}  // namespace

TEST_CASE("a deck differs from another by values", "[engine][guard]") {
  CHECK(changes_between(kHeld, kHeld) == Changes{});
  CHECK(with(1, "r1 n1 n2 1e+09") == Changes{{"r1", 1e9}});
  CHECK(with(3, "v1 n1 0 -4.5") == Changes{{"v1", -4.5}});
  CHECK(with(4, "i1 0 n1 0") == Changes{{"i1", 0.0}});
  Lines wanted = kHeld;
  wanted[1] = "r1 n1 n2 0.1";
  wanted[3] = "v1 n1 0 12";
  CHECK(changes_between(kHeld, wanted) == Changes{{"r1", 0.1}, {"v1", 12.0}});
}

TEST_CASE("what differs by more than values is another deck", "[engine][guard]") {
  CHECK_FALSE(changes_between({}, kHeld));
  CHECK_FALSE(changes_between(kHeld, Lines(kHeld.begin(), kHeld.end() - 1)));
  const std::size_t k = GENERATE(range(1, 9));
  for (const char* other :
       {"r2 n1 n2 330", "r1 n1 n3 330", "r1 n1 n2", "r1 n1 n2 330 1", "r1  n1 n2 331",
        "rm1 n2 n3 5", "d1 n2 0 md2", "b1 n1 0 v=6", ".model md1 d is=2e-14",
        ".options reltol=1e-10", "v1 n1 0 pwl(0 0 1 1)"}) {
    CAPTURE(k, other);
    CHECK_FALSE(with(k, other));
  }
}

TEST_CASE("a line that goes on in the next is no element's whole line",
          "[engine][guard]") {
  const Lines held{"circuit", "r1 n1 n2 330", "+ m=2", "v1 n1 0 5", ".end"};
  Lines wanted = held;
  wanted[3] = "v1 n1 0 6";
  CHECK(changes_between(held, wanted) == Changes{{"v1", 6.0}});
  wanted[1] = "r1 n1 n2 331";
  CHECK_FALSE(changes_between(held, wanted));
}

TEST_CASE("a value is a number and nothing else, in the one form that decks have",
          "[engine][guard]") {
  for (const char* value :
       {"", "331k", "331 ", "+331", "331.0", "0x10", "inf", "nan", "-nan", "1e999",
        "1e9", "331;quit", "{331}", "`date`", "$x", "331]", "n2"}) {
    CAPTURE(value);
    CHECK_FALSE(with(1, std::string("r1 n1 n2 ") + value));
  }
}

TEST_CASE("a network's other values are changes of its deck", "[engine][guard]") {
  benchproof::test::HandNetwork h(4);
  h.voltage_source(1, 0, 9.0);
  h.resistor(1, 2, 100.0);
  h.current_source(2, 0, 1e-3);
  h.diode(2, 3, benchproof::DiodeModel{});
  h.resistor(3, 0, 1.0 / 3.0);
  const Lines held = make_deck(h.network()).lines;
  std::mt19937_64 random(5);
  for (int round = 0; round < 1000; ++round) {
    for (std::vector<double>* values :
         {&h.values.ohms, &h.values.volts, &h.values.amps})
      for (double& value : *values)
        value = std::exp(std::uniform_real_distribution<double>(-40.0, 40.0)(random));
    const auto changes = changes_between(held, make_deck(h.network()).lines);
    CHECK(changes == Changes{{"r1", h.values.ohms[0]},
                             {"r2", h.values.ohms[1]},
                             {"v1", h.values.volts[0]},
                             {"i1", h.values.amps[0]}});
  }
}
