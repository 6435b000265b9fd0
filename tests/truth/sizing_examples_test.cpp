// Values that others chose: worked examples and handbook formulas asked the other way
// round. What a book prints as the result is the goal; the value that it began with has
// to come out, from whatever value the description has.

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <variant>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/transient.h"
#include "core/sizing/size.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;

Circuit read(const std::string& text) {
  static const Catalogue catalogue = built_in_catalogue();  // Circuits point into it.
  const ReadResult result = read_circuit(text, "sized.toml", catalogue);
  for (const Diagnostic& d : result.diagnostics)
    UNSCOPED_INFO(d.span.begin.line << ": " << d.message);
  REQUIRE(result.circuit);
  return *result.circuit;
}

Circuit worked(const std::string& name) {
  const std::filesystem::path file = std::filesystem::path(BENCHPROOF_SOURCE_DIR) /
                                     "reference/worked" / (name + ".toml");
  std::ifstream in(file, std::ios::binary);
  REQUIRE(in);
  std::ostringstream text;
  text << in.rdbuf();
  return read(text.str());
}

/// What `size` finds, by both witnesses, in the first state or in a run.
Sizing sized(const Circuit& circuit, const std::vector<std::string>& keys,
             const std::string& goal, Series series, const std::string& run = {}) {
  SizeRequest request;
  request.series = series;
  request.state = run.empty() ? 0 : -1;
  for (const std::string& text : keys) {
    auto key = read_sized_key(circuit, text);
    if (const auto* wrong = std::get_if<std::string>(&key)) FAIL(*wrong);
    request.keys.push_back(std::get<SizedKey>(key));
    if (!run.empty()) {
      request.keys.back().least = *request.keys.back().present / 100.0;
      request.keys.back().most = *request.keys.back().present * 100.0;
    }
    if (keys.size() > 1) {
      request.keys.back().least = 100.0;
      request.keys.back().most = 10e3;
    }
  }
  auto read = read_goal(circuit, goal, run);
  if (const auto* wrong = std::get_if<std::string>(&read)) FAIL(*wrong);
  request.goal = std::get<Goal>(read);
  EngineSession session;
  const Solve nodal = [](const Network& n) { return solve_nodal(n); };
  return find_size(circuit, request,
                   {nodal,
                    {},
                    [&](const Network& n) { return solve_with_engine(session, n); },
                    nodal,
                    nodal_until,
                    engine_in_time(session),
                    {},
                    nodal_in_time});
}

/// The circuit with another value behind a key, as somebody might begin.
Circuit spoilt(Circuit circuit, const std::string& key, double times) {
  const auto sized = std::get<SizedKey>(read_sized_key(circuit, key));
  put_value(circuit, sized, *sized.present * times);
  return circuit;
}

/// A standard value that is recommended, with both witnesses' figures.
const SizeChoice& recommended(const Sizing& sizing) {
  REQUIRE(sizing.recommended >= 0);
  const SizeChoice& c = sizing.candidates[sizing.recommended];
  CHECK(c.agrees);
  CHECK_THAT(c.engine, WithinRel(c.nodal, 1e-6));
  return c;
}

struct Example {
  const char* file;
  const char* key;
  const char* goal;
  double printed;  ///< The value that the book has. SI.
  /// What the printed figures leave open, as a share of the value.
  double within;
};

constexpr double kExact = 4e-6;  // 2 ppm for arithmetic of the goal, and of the value.

}  // namespace

// Sources stand in the files. Where the goal is rounded to half a unit of its last
// digit, so is the value that gives it, by the share of the goal that the resistor
// takes: an LED's resistor and a diode's have the whole current for their own.
TEST_CASE("a resistor of a worked example comes out of its printed result",
          "[truth][sizing]") {
  const Example e = GENERATE(
      Example{"o22-divider-of-three", "r3", "lower voltage = 15 V", 7.5e3, kExact},
      Example{"o22-divider-of-three", "r1", "top to upper voltage = 10 V", 5e3, kExact},
      Example{"o34-led-on-6v", "r1", "d1 current = 20 mA", 220.0, kExact},
      Example{"o34-led-on-6v", "r1", "r1 power = 88 mW", 220.0, kExact},
      Example{"o35-led-on-24v", "r1", "d1 current = 20 mA", 1.12e3, kExact},
      Example{"o36-zener-without-load", "r1", "z1 power = 408.24 mW", 1e3, kExact},
      Example{"o37-zener-with-500-ohm", "r1", "z1.cathode current = 7.2 mA", 1e3,
              kExact},
      Example{"o37-zener-with-500-ohm", "rl", "z1.cathode current = 7.2 mA", 500.0,
              kExact},
      // Printed 38.889 kohm.
      Example{"o39-edge-of-regulation", "rl", "output voltage = 12.6 V", 38.889e3,
              0.5 / 38889.0},
      Example{"o45-diode-on-10v", "rl", "rl current = 9.3 mA", 1e3, kExact},
      Example{"o51-led-on-9v", "rs", "d1 current = 14.89 mA", 470.0, 0.005 / 14.89},
      Example{"o52-led-on-50v", "rs", "d1 current = 21.82 mA", 2.2e3, 0.005 / 21.82},
      // 20 V, 2 kohm + 3 kohm outside of 500 ohm: 20 * 500/5500 = 1.8182 V printed.
      Example{"o33-rc-across-a-divider", "r2", "n2 to n3 voltage = 1.8182 V", 500.0,
              1.1 * 0.00005 / 1.8182});
  CAPTURE(e.file, e.key, e.goal);
  const double spoil = GENERATE(1.0, 7.3, 0.11);
  const Sizing sizing =
      sized(spoilt(worked(e.file), e.key, spoil), {e.key}, e.goal, Series::e192);
  REQUIRE(sizing.exact);
  CHECK_FALSE(sizing.jumps);
  CHECK_THAT(*sizing.exact, WithinRel(e.printed, e.within + 1e-9));
  // The printed value, or the standard ones about it.
  if (sizing.candidates.size() == 2) {
    CHECK(sizing.candidates.front().values.front() <= e.printed * (1.0 + e.within));
    CHECK(sizing.candidates.back().values.front() >= e.printed * (1.0 - e.within));
  }
}

// OpenStax, University Physics vol. 2, section 10.5: 558.11 ohm and 10 mF reach 10 V of
// 12 V in 10.00 s, 500 ohm and 1.50 uF have a time constant of 0.750 ms. Kuphaldt,
// Lessons In Electric Circuits vol. I, ch. 16: 10 kohm and 100 uF reach 9.482 V of 15 V
// in 1 s; 100 uF across 2 kohm + 3 kohm beside 500 ohm have 45.4545 ms. All read in the
// sources that the files name.
TEST_CASE("a delay of a worked example comes out of its printed time",
          "[truth][sizing]") {
  const double spoil = GENERATE(1.0, 5.0, 0.3);
  CAPTURE(spoil);
  const auto exact = [&](const char* file, const char* key, const char* goal,
                         const char* run) {
    const Sizing sizing =
        sized(spoilt(worked(file), key, spoil), {key}, goal, Series::e192, run);
    REQUIRE(sizing.exact);
    return *sizing.exact;
  };
  // Half a unit of the last digit of 558.11, and the witness's share of 1e-6.
  CHECK_THAT(exact("o14-wiper-timer", "r1", "n2 reaches 10 V = 10 s", "closed"),
             WithinAbs(558.11, 0.005 + 558.11e-6));
  // 0.0005 V of 9.482 V pass in 0.5 mV / (15 V/s exp(-1)) = 91 us.
  CHECK_THAT(exact("o31-rc-charging", "c1", "n2 reaches 9.482 V = 1 s", "closed"),
             WithinRel(100e-6, 0.0005 / (15.0 * std::exp(-1.0)) + 1e-6));
  // Half a unit of the last digit of 0.750 ms; what leaks through the capacitor itself
  // hardly shows.
  CHECK_THAT(exact("o15-rc-time-constant", "c1", "c1 time-constant = 0.75 ms", ""),
             WithinRel(1.5e-6, 1e-6));
  CHECK_THAT(
      exact("o33-rc-across-a-divider", "c1", "c1 time-constant = 45.4545 ms", ""),
      WithinRel(100e-6, 0.00005 / 45.4545 + 1e-6));
}

// V = 1.25 V (1 + R2/R1) + Iadj R2: ST, LM217L/LM317L, application information (read);
// R1 = 240 ohm: onsemi, LM317/NCV317, front page (read); Iadj = 50 uA: from memory.
TEST_CASE("an adjustable regulator's resistors are those of its formula",
          "[truth][sizing]") {
  const Circuit circuit = read(R"([parts]
s = { kind = "voltage-source", voltage = "15 V" }
u = { kind = "regulator", adjustable = true, output = "1.25 V", quiescent = "50 uA", dropout = "2 V", limit = "1.5 A", resistance = "0 ohm" }
r1 = { kind = "resistor", value = "240R" }
r2 = { kind = "resistor", value = "1k" }
[nets]
in = ["s.plus", "u.in"]
out = ["u.out", "r1.a"]
adjust = ["u.adjust", "r1.b", "r2.a"]
ground = ["s.minus", "r2.b"]
)");
  const auto volts = [](double r1, double r2) {
    return 1.25 * (1.0 + r2 / r1) + 50e-6 * r2;
  };
  const double wanted = GENERATE(3.3, 5.0, 9.0);
  const std::string goal = "out voltage = " + std::to_string(wanted) + " V";
  CAPTURE(wanted);
  const Sizing one = sized(circuit, {"r2"}, goal, Series::e24);
  REQUIRE(one.exact);
  // The regulator holds its voltage to some 1e-5 (its pass element's smooth knee).
  CHECK_THAT(*one.exact, WithinRel((wanted - 1.25) / (1.25 / 240.0 + 50e-6), 1e-4));
  // Both: no pair of E24 from 100 ohm to 10 kohm comes nearer by the formula.
  const Sizing two = sized(circuit, {"r1", "r2"}, goal, Series::e24);
  REQUIRE_FALSE(two.candidates.empty());
  const std::vector<double>& best = two.candidates.front().values;
  double least = 1e9;
  for (const double r1 : preferred_between(Series::e24, 100.0, 10e3))
    for (const double r2 : preferred_between(Series::e24, 100.0, 10e3))
      least = std::min(least, std::abs(volts(r1, r2) - wanted));
  CAPTURE(best[0], best[1]);
  CHECK_THAT(std::abs(volts(best[0], best[1]) - wanted),
             WithinAbs(least, 1e-4 * wanted));
}

// R = (Vs - Vf) / I: Kuphaldt, Lessons In Electric Circuits vol. III, ch. 3 (read; see
// o34). With 5 V, 2 V and 20 mA that is 150 ohm, with 12 V, 2.1 V and 15 mA 660 ohm:
// 680 ohm in E12, so that no more flows.
TEST_CASE("an LED's resistor is that of its formula", "[truth][sizing]") {
  const auto led = [](const char* supply, const char* drop) {
    return read(std::string("[parts]\ns = { kind = \"dc-supply\", voltage = \"") +
                supply + "\" }\nr = { kind = \"resistor\", value = \"10k\", power = " +
                "\"1 W\" }\nd = { kind = \"led\", drop = \"" + drop +
                "\" }\n[nets]\nin = [\"s.plus\", \"r.a\"]\nmid = [\"r.b\", " +
                "\"d.anode\"]\nground = [\"s.minus\", \"d.cathode\"]\n");
  };
  const Sizing five = sized(led("5 V", "2 V"), {"r"}, "d current = 20 mA", Series::e12);
  REQUIRE(five.exact);
  // The textbook diode holds its drop within 10 uV.
  CHECK_THAT(*five.exact, WithinRel(150.0, 10e-6 / 3.0));
  CHECK(recommended(five).values.front() == 150.0);
  const Sizing twelve =
      sized(led("12 V", "2.1 V"), {"r"}, "d current <= 15 mA", Series::e12);
  REQUIRE(twelve.exact);
  CHECK_THAT(*twelve.exact, WithinRel(660.0, 10e-6 / 9.9));
  CHECK(recommended(twelve).values.front() == 680.0);
}

// A divider with a load: R2 || RL against R1 [Kuphaldt, Lessons In Electric Circuits
// vol. I, ch. 6, from memory].
TEST_CASE("a loaded divider makes up for its load", "[truth][sizing]") {
  const Circuit circuit = read(R"([parts]
s = { kind = "dc-supply", voltage = "12 V" }
r1 = { kind = "resistor", value = "1k" }
r2 = { kind = "resistor", value = "1k" }
load = { kind = "resistor", value = "4k7" }
[nets]
in = ["s.plus", "r1.a"]
tap = ["r1.b", "r2.a", "load.a"]
ground = ["s.minus", "r2.b", "load.b"]
)");
  const double volts = GENERATE(2.5, 5.0, 9.0);
  const Sizing sizing = sized(
      circuit, {"r2"}, "tap voltage = " + std::to_string(volts) + " V", Series::e24);
  const double both = 1e3 * volts / (12.0 - volts);
  REQUIRE(sizing.exact);
  CHECK_THAT(*sizing.exact, WithinRel(1.0 / (1.0 / both - 1.0 / 4.7e3), 1e-8));
}

// A zener's resistor at the lowest supply, R = (Vs - Vz) / (Iz + IL): 9 V, 5.1 V, 5 mA
// and 20 mA give 156 ohm; E24 has 150 ohm below, so that no less is left for the zener
// (from memory; the rule is in every handbook).
TEST_CASE("a zener's resistor is that of its formula", "[truth][sizing]") {
  const Circuit circuit = read(R"([parts]
s = { kind = "dc-supply", voltage = "9 V" }
r = { kind = "resistor", value = "1k", power = "1 W" }
z = { kind = "zener", voltage = "5.1 V", power = "0.5 W" }
load = { kind = "resistor", value = "255R" }
[nets]
in = ["s.plus", "r.a"]
out = ["r.b", "z.cathode", "load.a"]
ground = ["s.minus", "z.anode", "load.b"]
)");
  const Sizing sizing = sized(circuit, {"r"}, "z.cathode current >= 5 mA", Series::e24);
  REQUIRE(sizing.exact);
  CHECK_THAT(*sizing.exact, WithinRel(3.9 / 25e-3, 1e-5));
  CHECK(recommended(sizing).values.front() == 150.0);
}

}  // namespace benchproof
