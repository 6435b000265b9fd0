// Published examples of tolerance arithmetic, and closed forms. Each is a circuit whose
// figure is the example's; bounds are half a unit of the last printed digit unless
// told.

#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <random>
#include <string>
#include <vector>

#include "core/tolerance/states/copies.h"
#include "core/tolerance/states/worst_case.h"
#include "tests/unit/tolerance/copied.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::Copied;
using test::described;

/// A circuit of which the first expectation is the figure.
struct Figured {
  std::string parts;
  std::string nets;
  std::string figure;
  std::string tolerances = {};

  [[nodiscard]] Circuit circuit() const {
    return described("[parts]\n" + parts + "[nets]\n" + nets + "[tolerances]\n" +
                     tolerances + "[[expect]]\n" + figure + "\n");
  }
};

std::string resistor(const std::string& name, double ohms, const std::string& within) {
  return name + " = { kind = \"resistor\", value = \"" + std::to_string(ohms) +
         " ohm\", tolerance = \"" + within + "\", power = \"1 kW\" }\n";
}

/// Least, as described, most.
struct Ends {
  double least;
  double nominal;
  double most;
};

Ends ends_of(const Circuit& circuit) {
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  const WorstCase worst = worst_cases(copied.state).front();
  return {worst.least.value, copied.state.nominal().front(), worst.most.value};
}

Figured divider(const std::string& volts, double upper, double lower,
                const std::string& within_upper, const std::string& within_lower) {
  return {"v = { kind = \"voltage-source\", voltage = \"" + volts + "\" }\n" +
              resistor("upper", upper, within_upper) +
              resistor("lower", lower, within_lower),
          "in = [\"v.plus\", \"upper.a\"]\ntap = [\"upper.b\", \"lower.a\"]\n"
          "ground = [\"v.minus\", \"lower.b\"]\n",
          "net = \"tap\"\nvoltage = { min = \"0 V\" }"};
}

/// Resistors in a row, with a current through them: of 1 A, volts are ohms.
Figured row(const std::vector<std::pair<double, std::string>>& resistors,
            const std::string& amps, const std::string& tolerances = {}) {
  Figured figure;
  figure.parts = "i = { kind = \"current-source\", current = \"" + amps + "\" }\n";
  std::string from = "\"i.plus\"";
  for (std::size_t k = 0; k < resistors.size(); ++k) {
    const std::string name = "r" + std::to_string(k);
    figure.parts += resistor(name, resistors[k].first, resistors[k].second);
    const std::string net = k == 0 ? "top" : "n" + std::to_string(k);
    figure.nets += net + " = [" + from + ", \"" + name + ".a\"]\n";
    from = "\"" + name + ".b\"";
  }
  figure.nets += "ground = [\"i.minus\", " + from + "]\n";
  figure.figure = "net = \"top\"\nvoltage = { min = \"0 V\" }";
  figure.tolerances = tolerances;
  return figure;
}

void hold(const Ends& ends, const Ends& printed, double within) {
  CHECK_THAT(ends.least, WithinAbs(printed.least, within));
  CHECK_THAT(ends.nominal, WithinAbs(printed.nominal, within));
  CHECK_THAT(ends.most, WithinAbs(printed.most, within));
}

}  // namespace

TEST_CASE("dividers at their extreme values are as printed", "[truth][tolerance]") {
  // Maxima manual, package wrstcse, wc_mintypmax (verified).
  hold(ends_of(divider("1 V", 1e3, 1e3, "1%", "1%").circuit()), {0.495, 0.5, 0.505},
       5e-7);
  // Rizzoni, Principles and Applications of Electrical Engineering, problems P2.52 and
  // P2.58 (answers from memory).
  hold(ends_of(divider("10 V", 5e3, 5e3, "10%", "10%").circuit()), {4.5, 5.0, 5.5},
       0.005);
  hold(ends_of(divider("10 V", 5e3, 5e3, "5%", "5%").circuit()), {4.75, 5.0, 5.25},
       0.005);
}

TEST_CASE("sums at their extreme values are as printed", "[truth][tolerance]") {
  // Measurement tutorial 1 (scribd 36794748), problem 2 (verified): 82.5 ohm either
  // way.
  hold(ends_of(row({{330, "5%"}, {330, "10%"}, {330, "10%"}}, "1 A").circuit()),
       {990 - 82.5, 990, 1072.5}, 0.05);
  // Question page on the error of a series connection (verified): 0.46 ohm.
  hold(ends_of(row({{64, "0.5%"}, {20, "0.5%"}, {8, "0.5%"}}, "1 A").circuit()),
       {92 - 0.46, 92, 92 + 0.46}, 0.005);
  // Maxima manual, package wrstcse, coupled tolerances (verified). The factor that both
  // resistors share is the current's here.
  hold(
      ends_of(
          row({{1e3, "1%"}, {2e3, "1%"}}, "1 A", "\"i.current\" = \"2%\"\n").circuit()),
      {2910.6, 3000.0, 3090.6}, 0.01);
  hold(
      ends_of(
          row({{100, "1%"}, {200, "1%"}}, "1 A", "\"i.current\" = \"1%\"\n").circuit()),
      {294.03, 300.0, 306.03}, 1e-6);
}

TEST_CASE("resistors side by side at their extreme values are as printed",
          "[truth][tolerance]") {
  // Question page: 100 +- 3 and 200 +- 4 ohm (verified).
  const Figured figure{"i = { kind = \"current-source\", current = \"1 A\" }\n" +
                           resistor("a", 100, "3%") + resistor("b", 200, "2%"),
                       "top = [\"i.plus\", \"a.a\", \"b.a\"]\nground = [\"i.minus\", "
                       "\"a.b\", \"b.b\"]\n",
                       "net = \"top\"\nvoltage = { min = \"0 V\" }"};
  const Ends ends = ends_of(figure.circuit());
  CHECK_THAT(ends.nominal, WithinAbs(66.66667, 5e-6));
  CHECK_THAT(ends.least, WithinAbs(64.88737, 5e-5));
  CHECK_THAT(ends.most, WithinAbs(68.443, 5e-5));
}

TEST_CASE("power of a current in a resistor at its extreme values is as printed",
          "[truth][tolerance]") {
  // Helfrick and Cooper, Modern Electronic Instrumentation and Measurement Techniques,
  // example 1-14 (verified): 2 A within 0.5 %, 100 ohm within 0.2 %.
  Figured figure = row({{100, "0.2%"}}, "2 A", "\"i.current\" = \"0.5%\"\n");
  figure.figure = "part = \"r0\"\npower = { min = \"0 W\" }";
  const Ends ends = ends_of(figure.circuit());
  CHECK_THAT(ends.most / ends.nominal, WithinAbs(1.012, 0.0005));
  CHECK_THAT(ends.least / ends.nominal, WithinAbs(0.988, 0.0005));
}

TEST_CASE("a regulator's reference sets its output's extremes as printed",
          "[truth][tolerance]") {
  // Jefferson Lab's LM317 page, 12 V set by 240 ohm and 2064 ohm (verified): 1.20 V to
  // 1.30 V of reference make 11.5 V to 12.5 V, rounded to half a volt from 0.48 V; so
  // to 0.05 V. What the adjust pin and the load regulation take is left out by the
  // page.
  const Figured figure{
      "v = { kind = \"voltage-source\", voltage = \"15 V\" }\n"
      "reg = { kind = \"regulator\", type = \"LM317\", quiescent = \"0 A\" }\n" +
          resistor("top", 240, "0.0001%") + resistor("low", 2064, "0.0001%"),
      "in = [\"v.plus\", \"reg.in\"]\nout = [\"reg.out\", \"top.a\"]\n"
      "set = [\"reg.adjust\", \"top.b\", \"low.a\"]\n"
      "ground = [\"v.minus\", \"low.b\"]\n",
      "net = \"out\"\nvoltage = { min = \"0 V\" }"};
  const Ends ends = ends_of(figure.circuit());
  CHECK_THAT(ends.least, WithinAbs(11.5, 0.05));
  CHECK_THAT(ends.nominal, WithinAbs(12.0, 0.05));
  CHECK_THAT(ends.most, WithinAbs(12.5, 0.05));
}

TEST_CASE("one given draw of a divider is as printed", "[truth][tolerance]") {
  // Dorf and Svoboda style handout, Monte Carlo Analysis (scribd 381541785; verified):
  // 100 and 400 ohm within 5 %, drawn at 0.21347 and 0.83721 of their ranges.
  const Circuit circuit = divider("1 V", 100, 400, "5%", "5%").circuit();
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  const std::vector<double> places = {0.21347, 0.83721};
  CHECK_THAT(value_at(spreads[0], circuit.parts, places[0]), WithinAbs(97.1347, 5e-5));
  CHECK_THAT(value_at(spreads[1], circuit.parts, places[1]), WithinAbs(413.4884, 5e-5));
  const auto seen = seen_at(copied.state, places.data(), solve_nodal);
  REQUIRE(seen);
  CHECK_THAT(values_at(copied.state, places.data(), *seen).front(),
             WithinAbs(0.809772, 5e-7));
}

TEST_CASE("a divider's root-sum-square deviation is as printed", "[truth][tolerance]") {
  // Maxima manual, package wrstcse, wc_mintypmax_rss (verified): 1 % as 3 sigma, the
  // output at 6 sigma is 0.49292893218813455. Our bells are cut at 3 sigma, which takes
  // a factor from the deviation that is known.
  const std::string bell =
      "\"upper.value\" = { within = \"1%\", distribution = \"normal\" }\n"
      "\"lower.value\" = { within = \"1%\", distribution = \"normal\" }\n";
  Figured figure = divider("1 V", 1e3, 1e3, "1%", "1%");
  figure.tolerances = bell;
  const Circuit circuit = figure.circuit();
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  const WorstCase worst = worst_cases(copied.state).front();
  const double printed = (0.5 - 0.49292893218813455) / 6.0;
  // By slopes; the curve over 1 % bends by its square.
  const double rss = std::sqrt(worst.variances[0] + worst.variances[1]);
  CHECK_THAT(rss, WithinRel(printed, 1e-4));
  constexpr std::size_t kCount = 200'000;
  const CopiesResult copies = measure_copies({&copied.state}, kCount, 1, in_turn);
  const double phi = std::exp(-4.5) / std::sqrt(2.0 * std::acos(-1.0));
  const double cut = std::sqrt(1.0 - 6.0 * phi / std::erf(3.0 / std::sqrt(2.0)));
  // Four standard errors of a deviation, 1 / sqrt(2 n).
  CHECK_THAT(copies.states[0][0].deviation,
             WithinRel(printed * cut, 4.0 / std::sqrt(2.0 * kCount) + 1e-4));
}

TEST_CASE("an additive model of rectangular inputs spreads as JCGM 101 prints",
          "[truth][tolerance]") {
  // JCGM 101:2008, clauses 9.2.3 and 9.2.4, tables 3 and 4 (from memory): four inputs
  // of deviation 1, or three and one of 10. Here each is a resistor's way from 1 kohm
  // in units of 1 ohm, and the sum is told in volts by 1 A.
  struct Example {
    double last;       ///< Deviation of the last input.
    double deviation;  ///< As printed ...
    double half;       ///< ... with half of the shortest 95 % interval.
    double within_deviation, within_half;
  };
  const Example e = GENERATE(Example{1.0, 2.0, 3.88, 0.005, 0.005},
                             Example{10.0, 10.1, 17.0, 0.05, 0.05});
  const auto share = [](double deviation) {
    return std::to_string(deviation * std::sqrt(3.0) / 1000.0 * 100.0) + "%";
  };
  const Circuit circuit = row({{1000, share(1.0)},
                               {1000, share(1.0)},
                               {1000, share(1.0)},
                               {1000, share(e.last)}},
                              "1 A")
                              .circuit();
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  constexpr std::size_t kCount = 1'000'000 / test::kOneOf;
  const GaugeCopies copies =
      measure_copies({&copied.state}, kCount, 1, in_turn).states[0][0];
  // Three standard errors of the mean beside the print: 0.006 and 0.03.
  CHECK_THAT(copies.mean, WithinAbs(4000.0, 3.0 * e.deviation / std::sqrt(kCount)));
  CHECK_THAT(copies.deviation, WithinAbs(e.deviation, e.within_deviation));
  // The distribution is even on both sides, so the shortest interval leaves a fortieth
  // outside each. Three standard errors of that, sqrt(0.025 * 0.975 / n) over the
  // density there (0.0294 and 0.0289 by the exact convolution), beside the print.
  const double error = 3.0 * std::sqrt(0.025 * 0.975 / kCount) / 0.029;
  const double half = 0.5 * (copies.histogram.at(0.975) - copies.histogram.at(0.025));
  CHECK_THAT(half, WithinAbs(e.half, e.within_half + error));
}

TEST_CASE("random dividers and sums are worst where their closed forms are",
          "[truth][tolerance]") {
  std::mt19937_64 random(4);
  const auto between = [&random](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const auto percent = [](double share) { return std::to_string(share) + "%"; };
  for (int trial = 0; trial < 40; ++trial) {
    CAPTURE(trial);
    const double a = std::round(between(10, 9e3)), b = std::round(between(10, 9e3));
    const double of_a = std::round(between(1, 20)), of_b = std::round(between(1, 20));
    const Ends ends =
        ends_of(divider("12 V", a, b, percent(of_a), percent(of_b)).circuit());
    const auto tap = [&](double sign) {
      const double upper = a * (1.0 - sign * of_a / 100.0);
      const double lower = b * (1.0 + sign * of_b / 100.0);
      return 12.0 * lower / (upper + lower);
    };
    CHECK_THAT(ends.least, WithinRel(tap(-1.0), 1e-9));
    CHECK_THAT(ends.most, WithinRel(tap(1.0), 1e-9));
    const Ends sum = ends_of(
        row({{a, percent(of_a)}, {b, percent(of_b)}, {a + b, "5%"}}, "1 A").circuit());
    const double off = (a * of_a + b * of_b + (a + b) * 5.0) / 100.0;
    CHECK_THAT(sum.least, WithinRel(2.0 * (a + b) - off, 1e-9));
    CHECK_THAT(sum.most, WithinRel(2.0 * (a + b) + off, 1e-9));
  }
}

TEST_CASE("the yield's interval holds the true share as often as it says",
          "[truth][tolerance]") {
  // A resistor, uniform within 10 % of 100 ohm, on 1 V: the current is below 10.5 mA
  // where the resistance is above 95.238 ohm, which it is in 0.7381 of all copies.
  const Figured figure{"v = { kind = \"voltage-source\", voltage = \"1 V\" }\n" +
                           resistor("r", 100, "10%"),
                       "in = [\"v.plus\", \"r.a\"]\nground = [\"v.minus\", \"r.b\"]\n",
                       "part = \"r\"\ncurrent = { max = \"10.5 mA\" }"};
  const Circuit circuit = figure.circuit();
  const double truth = (110.0 - 1.0 / 0.0105) / 20.0;
  const std::vector<Spread> spreads = spreads_of(circuit);
  const Copied copied(circuit, circuit.states.front(), spreads);
  Measurer measurer(copied.state);
  constexpr std::size_t kRepeats = 2000, kCopies = 200;
  std::size_t held = 0;
  for (std::uint64_t seed = 0; seed < kRepeats; ++seed) {
    Draw draw(spreads, seed);
    std::size_t works = 0;
    measurer.measure(
        0, kCopies, [&](std::size_t k, double* places) { draw.places(k, places); },
        [&](const Measurer::Copy& copy) { works += copy.failed().front() ? 0 : 1; });
    const Share share = share_of(works, kCopies);
    held += share.least <= truth && truth <= share.most ? 1 : 0;
  }
  CHECK(held >= kRepeats * 94 / 100);
  // An exact interval holds it more often than it says, never always.
  CHECK(held < kRepeats);
}

}  // namespace benchproof
