#include "core/order/least_ratings.h"

#include <cmath>

#include "core/order/shopping_list.h"
#include "tests/files.h"
#include "tests/unit/check/bench.h"

using benchproof::check_input;
using benchproof::Circuit;
using benchproof::Derating;
using benchproof::Finding;
using benchproof::least_ratings;
using benchproof::LeastRating;
using benchproof::OrderLine;
using benchproof::Part;
using benchproof::Setting;
using benchproof::shopping_list;
using benchproof::ShoppingList;
using benchproof::solve_nodal;
using benchproof::text_of;
using benchproof::Verification;
using benchproof::verify;
using benchproof::bench::Bench;
using benchproof::bench::filled;
using benchproof::bench::verified;
using Catch::Matchers::WithinRel;

namespace {

// What Newton's method leaves of a voltage (SolverOptions: 1e-9 of it), twice in a
// power.
constexpr double kSolved = 1e-8;

/// The rating by that key of part 'x' in the only state.
LeastRating rating(const std::string& text, std::string_view key,
                   const Derating& derating = {}) {
  const Bench bench = verified(text);
  const auto x = std::find_if(bench.circuit.parts.begin(), bench.circuit.parts.end(),
                              [](const Part& part) { return part.name == "x"; });
  REQUIRE(x != bench.circuit.parts.end());
  const auto list =
      least_ratings(check_input(bench.circuit, bench.circuit.states.front(),
                                bench.verification.states.front()),
                    static_cast<int>(x - bench.circuit.parts.begin()), derating);
  const auto found = std::find_if(list.begin(), list.end(),
                                  [&](const LeastRating& r) { return r.key == key; });
  CAPTURE(text, key);
  REQUIRE(found != list.end());
  return *found;
}

/// A voltage source of @ across part x, with lines for the top of the description.
std::string across(const std::string& part, const char* plus, const char* minus,
                   const std::string& top = "") {
  return top + "\n[parts]\nv = { kind = \"voltage-source\", voltage = \"@\" }\nx = { " +
         part + " }\n[nets]\nhot = [\"v.plus\", \"x." + plus +
         "\"]\nground = [\"v.minus\", \"x." + minus + "\"]\n";
}

const std::string kHundred = R"(kind = "resistor", value = "100R")";

}  // namespace

// Closed form: P = U^2 / R. Which ratings are sold, and the share of 60 %: common
// practice, no source.
TEST_CASE("a resistor's least power", "[order]") {
  const std::string text = filled(across(kHundred, "a", "b"), "12 V");
  const LeastRating usual = rating(text, "power");
  CHECK_THAT(usual.load, WithinRel(1.44, kSolved));
  CHECK(usual.share == 0.6);
  CHECK_THAT(usual.least, WithinRel(2.4, kSolved));
  CHECK(usual.sold == 3.0);
  REQUIRE(usual.has);
  CHECK(usual.has->value == 0.25);
  CHECK(!usual.is_enough);

  const LeastRating full = rating(text, "power", {.power = 1.0});
  CHECK_THAT(full.least, WithinRel(1.44, kSolved));
  CHECK(full.sold == 2.0);
  CHECK(rating(text, "power", {.power = 0.4}).sold == 5.0);
  CHECK(!rating(text, "power", {.power = 0.01}).sold);
  CHECK(rating(filled(across(kHundred, "a", "b"), "1 V"), "power").sold == 0.125);
}

// Metal film fixed resistor specification B/3 (2017), table 1 and figure 1: the rating
// holds up to 70 C and falls in a straight line to none at 155 C.
TEST_CASE("a resistor in the heat needs a larger rating", "[order]") {
  const auto at = [](const char* ambient) {
    return rating(
        filled(across(kHundred, "a", "b", std::string("ambient = \"") + ambient + "\""),
               "12 V"),
        "power");
  };
  CHECK_THAT(at("70 C").least, WithinRel(2.4, kSolved));
  CHECK_THAT(at("112.5 C").least, WithinRel(4.8, kSolved));
  CHECK(at("112.5 C").sold == 5.0);
}

// Closed form: a divider; the whole track counts for what a part of it carries, so that
// 10 mA through a tenth of 1 kohm count as 0.1 W.
TEST_CASE("a trimmer's least power is that of its whole track", "[order]") {
  const LeastRating r = rating(
      R"([parts]
i = { kind = "current-source", current = "10 mA" }
x = { kind = "trimmer", value = "1k", turn = 0.1 }
[nets]
open = ["x.b"]
hot = ["i.plus", "x.a"]
ground = ["i.minus", "x.wiper"]
)",
      "power");
  CHECK_THAT(r.load, WithinRel(0.1, kSolved));
  CHECK(r.sold == 0.25);
}

// 80 % of a rated voltage and the ratings that are sold: common practice, no source.
TEST_CASE("a capacitor's least voltage", "[order]") {
  const auto stands = [](const char* kind, const char* volts) {
    const std::string part =
        std::string(R"(kind = "capacitor", value = "10uF")") + kind;
    const bool is_polarised = part.find("polarised") != std::string::npos;
    return rating(
        filled(across(part, is_polarised ? "plus" : "a", is_polarised ? "minus" : "b"),
               volts),
        "rated");
  };
  CHECK_THAT(stands(", polarised = true", "12 V").least, WithinRel(15.0, kSolved));
  CHECK(stands(", polarised = true", "12 V").sold == 16.0);
  CHECK(stands(", polarised = true", "12.8 V").sold == 16.0);
  CHECK(stands(", polarised = true", "12.81 V").sold == 25.0);
  CHECK(stands(", polarised = true", "1 V").sold == 6.3);
  CHECK(!stands(", polarised = true", "59 V").has);
  CHECK(!stands(", polarised = true", "59 V").is_enough);
  CHECK(stands("", "-12 V").sold == 16.0);
  // Reversed, it stands nothing that a rating would help against.
  CHECK(stands(", polarised = true", "-0.01 V").load == 0.0);
  CHECK(
      rating(filled(across("kind = \"capacitor\", value = \"10uF\"", "a", "b"), "12 V"),
             "rated", {.voltage = 0.5})
          .sold == 25.0);
}

// Closed form: 6 V over 50 ohm. The shares and what is sold: common practice; the
// fuses' ratings: IEC 60127 as remembered.
TEST_CASE("the least current of a supply and of a fuse", "[order]") {
  const std::string loaded = R"([parts]
x = { kind = "dc-supply", voltage = "6 V", current = "100 mA" }
r = { kind = "resistor", value = "50R", power = "2 W" }
[nets]
hot = ["x.plus", "r.a"]
ground = ["x.minus", "r.b"]
)";
  const LeastRating supply = rating(loaded, "current");
  CHECK_THAT(supply.least, WithinRel(0.15, kSolved));
  CHECK(supply.sold == 0.2);
  CHECK(!supply.is_enough);

  const LeastRating fuse = rating(R"([parts]
v = { kind = "voltage-source", voltage = "6 V" }
x = { kind = "fuse", rated = "200 mA", resistance = "1R" }
r = { kind = "resistor", value = "49R", power = "2 W" }
[nets]
hot = ["v.plus", "x.a"]
fused = ["x.b", "r.a"]
ground = ["v.minus", "r.b"]
)",
                                  "rated");
  CHECK_THAT(fuse.least, WithinRel(0.16, kSolved));
  CHECK(fuse.sold == 0.16);
  CHECK(fuse.is_enough);
}

// The lists are written twice, here and in the checks: each rating that is told must be
// the one at which the part's check turns. A rating 1e-4 above it passes, one 1e-3
// below it does not; both are far from the blur of 1e-5 that the checks allow.
TEST_CASE("a least rating is where the check turns", "[order][balance]") {
  const std::string various = R"(title = "Various"
ambient = "80 C"
[parts]
jack = { kind = "dc-supply", voltage = "12 V", current = "2 A" }
f    = { kind = "fuse", rated = "500 mA", resistance = "0.4 ohm" }
door = { kind = "switch", rated = "1 A" }
coil = { kind = "inductor", value = "1 mH", dcr = "1R", rated = "1 A" }
load = { kind = "resistor", value = "100R", power = "5 W" }
z_r  = { kind = "resistor", value = "470R", power = "1 W" }
z    = { kind = "zener", type = "BZX55C5V1" }
gate_r = { kind = "resistor", value = "10k" }
pull = { kind = "resistor", value = "100k" }
m    = { kind = "mosfet", type = "2N7000" }
m_r  = { kind = "resistor", value = "220R", power = "2 W" }
block = { kind = "diode", type = "1N4148" }
dim  = { kind = "trimmer", value = "4.7k", turn = 0.3, power = "0.25 W" }
red_r = { kind = "resistor", value = "680R", power = "0.5 W" }
red  = { kind = "led", colour = "red" }
film = { kind = "capacitor", value = "100n", rated = "63 V" }
[nets]
inlet  = ["jack.plus", "f.a", "block.cathode", "film.a"]
fused  = ["f.b", "door.a"]
live   = ["door.b", "coil.a", "z_r.a", "gate_r.a", "m_r.a", "dim.a", "red_r.a"]
loaded = ["coil.b", "load.a"]
zened  = ["z_r.b", "z.cathode"]
gate   = ["gate_r.b", "m.gate", "pull.a"]
drain  = ["m_r.b", "m.drain"]
lit    = ["red_r.b", "red.anode"]
open   = ["dim.wiper"]
ground = ["jack.minus", "load.b", "z.anode", "pull.b", "m.source", "block.anode",
          "dim.b", "red.cathode", "film.b"]
[states.on]
door = "closed"
[states.low]
door = "closed"
"jack.voltage" = "9 V"
)";
  const std::string folder = BENCHPROOF_SOURCE_DIR "/circuits/";
  const std::vector<std::string> texts = {various,
                                          text_of(folder + "harbour-light.toml"),
                                          text_of(folder + "lantern-string.toml")};
  const std::string text = texts.at(GENERATE(0U, 1U, 2U));
  const Bench bench = verified(text);
  const ShoppingList list = shopping_list(bench.circuit, bench.verification);
  REQUIRE(list.without_ratings.empty());
  int count = 0;
  for (const OrderLine& line : list.lines) {
    for (const LeastRating& r : line.ratings) {
      constexpr double kNothing = 1e-6;
      if (r.least < kNothing) continue;
      const auto is_told = [&](double rating) {
        Circuit circuit = bench.circuit;
        Part& part = circuit.parts.at(static_cast<std::size_t>(r.part));
        part.settings[std::string(r.key)] = Setting{rating, {}};
        const Verification v = verify(circuit, solve_nodal, solve_nodal);
        for (const auto& state : v.states)
          for (const Finding& finding : state.findings)
            if (finding.check == r.check && finding.part == part.name) return true;
        return false;
      };
      CAPTURE(bench.circuit.title, line.what, r.key, r.least);
      CHECK(!is_told(r.least * (1 + 1e-4)));
      CHECK(is_told(r.least * (1 - 1e-3)));
      if (r.sold) CHECK(!is_told(*r.sold));
      if (r.has && r.is_enough) CHECK(!is_told(r.has->value));
      if (r.has && !r.is_enough) CHECK(is_told(r.has->value));
      ++count;
    }
  }
  CHECK(count >= 8);
}
