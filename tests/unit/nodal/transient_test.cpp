#include "core/nodal/transient.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"
#include "tests/truth/random_network.h"

namespace benchproof {
namespace {

using Catch::Contains;
using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

Timeline timeline(const HandNetwork& hand, double span,
                  std::vector<Course> volts = {}) {
  Timeline t;
  t.network = hand.network();
  t.span = span;
  t.volts = std::move(volts);
  return t;
}

Waveform solved(const Timeline& t, const std::vector<double>& also_at = {},
                const TransientOptions& options = {}) {
  Waveform w = solve_nodal(t, also_at, options);
  UNSCOPED_INFO(w.reason);
  REQUIRE(w.status == SolveStatus::solved);
  REQUIRE(w.seconds.front() == 0.0);
  REQUIRE(w.seconds.back() == t.span);
  for (std::size_t k = 1; k < w.seconds.size(); ++k) {
    REQUIRE(w.seconds[k] > w.seconds[k - 1]);
  }
  REQUIRE(w.rows.size() == w.seconds.size() * w.width);
  for (const double value : w.rows) REQUIRE(std::isfinite(value));
  return w;
}

HandNetwork rc() {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 1e3);
  hand.capacitor(2, 0, 1e-6);
  return hand;
}

const Course kRise{0, {{0.0, 0.0}, {1e-3, 5.0}}};

BipolarModel npn() {
  BipolarModel m;
  m.is = 2e-14;
  m.bf = 200.0;
  m.br = 4.0;
  return m;
}

}  // namespace

TEST_CASE("a waveform has every corner and every time asked for, once",
          "[nodal][transient]") {
  const std::vector<Corner> corners = {
      {1e-3, 0.0}, {1.001e-3, 5.0}, {4e-3, 5.0}, {4.5e-3, 1.0}};
  const std::vector<double> times = {0.0, 0.0, 1e-3, 2e-3, 2.5e-3, 2.50001e-3, 6e-3};
  const Waveform w = solved(timeline(rc(), 6e-3, {{0, corners}}), times);
  for (const Corner& c : corners) {
    CHECK(std::count(w.seconds.begin(), w.seconds.end(), c.seconds) == 1);
  }
  for (const double s : times) {
    CHECK(std::count(w.seconds.begin(), w.seconds.end(), s) == 1);
  }
}

TEST_CASE("a corner a rounding before the end is one like others",
          "[nodal][transient]") {
  const double span = 6e-3;
  const Course late{0, {{1e-3, 0.0}, {std::nextafter(span, 0.0), 5.0}}};
  const Waveform w = solved(timeline(rc(), span, {late}));
  CHECK_THAT(w.row(w.seconds.size() - 1)[1], WithinRel(5.0, 1e-12));
}

TEST_CASE("values before the first corner and after the last are held",
          "[nodal][transient]") {
  HandNetwork hand = rc();
  hand.values.volts[0] = 2.0;
  const Waveform w =
      solved(timeline(hand, 30e-3, {{0, {{1e-3, 2.0}, {2e-3, 3.0}}}}), {0.5e-3});
  const auto at = std::lower_bound(w.seconds.begin(), w.seconds.end(), 0.5e-3);
  // At rest until then: the capacitor is charged and no current flows.
  const double* rest = w.row(static_cast<std::size_t>(at - w.seconds.begin()));
  CHECK_THAT(rest[2], WithinAbs(2.0, 1e-12));
  CHECK_THAT(rest[3], WithinAbs(0.0, 1e-12));
  CHECK_THAT(w.row(w.seconds.size() - 1)[2], WithinAbs(3.0, 1e-4));
}

TEST_CASE("ramps of circuits without charges are followed closely",
          "[nodal][transient]") {
  // A divider that a diode bends: each row is an operating point.
  HandNetwork hand(4);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 1e3);
  DiodeModel m;
  m.is = 1e-9;
  hand.diode(2, 0, m);
  hand.resistor(1, 3, 1e3);
  hand.resistor(3, 0, 1e3);
  const Timeline t = timeline(hand, 1.0, {{0, {{0.1, 0.0}, {0.6, 50.0}}}});
  const Waveform w = solved(t);
  const auto rows_in_bend = [](const Waveform& wave) {
    int rows = 0;
    for (std::size_t k = 0; k < wave.seconds.size(); ++k) {
      if (wave.row(k)[2] > 0.2 && wave.row(k)[2] < 0.35) ++rows;
    }
    return rows;
  };
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    Network now = t.network;
    now.values.volts[0] = std::clamp((w.seconds[k] - 0.1) / 0.5, 0.0, 1.0) * 50.0;
    const Solution rest = solve_nodal(now);
    REQUIRE(rest.status == SolveStatus::solved);
    // Newton's method on either side (NodalOptions; 1e-8 of currents in time).
    for (int node = 1; node < 4; ++node) {
      CHECK_THAT(w.row(k)[node], WithinAbs(rest.volts[node], 1e-7));
    }
  }
  // The longest step is 2 V of the ramp, more than the whole of the diode's bend: that
  // it is seen is the doing of TransientOptions::bend.
  CHECK(rows_in_bend(w) >= 5);
  TransientOptions careless;
  careless.bend = 1e6;
  CHECK(rows_in_bend(solved(t, {}, careless)) <= 2);
}

TEST_CASE("every row obeys the equations", "[nodal][transient][residual]") {
  // Capacitors' and inductors' currents are put in as the row tells them.
  HandNetwork hand(7);
  hand.voltage_source(1, 0, 0.0);
  DiodeModel m;
  m.is = 1e-9;
  m.rs = 0.1;
  hand.diode(1, 2, m);
  hand.resistor(2, 3, 0.1);
  hand.capacitor(3, 0, 100e-6);
  RegulatorModel regulator;
  regulator.limit = 0.1;
  regulator.quiescent = 3e-3;
  hand.regulator(2, 0, 4, regulator);
  hand.resistor(4, 5, 100.0);
  hand.bipolar(5, 6, 0, npn());
  hand.resistor(4, 6, 10e3);
  hand.capacitor(4, 0, 10e-6);
  const Timeline t = timeline(hand, 20e-3, {{0, {{0.0, 0.0}, {2e-3, 9.0}}}});
  std::vector<double> times;
  for (int k = 0; k <= 300; ++k) times.push_back(20e-3 * k / 300);
  const Waveform w = solved(t, times);
  const Structure& s = *t.network.structure;
  for (std::size_t k = 0; k < w.seconds.size(); ++k) {
    const double* row = w.row(k);
    const std::vector<double> volts(row, row + s.nodes.size());
    Currents branches;
    const double* rest = row + s.nodes.size();
    branches.voltage_sources = {rest[2]};
    branches.regulators = {{0.0, 0.0, rest[3]}};
    Network now = t.network;
    now.values.volts[0] = std::min(w.seconds[k] / 2e-3, 1.0) * 9.0;
    Currents c = currents_at(now, volts, branches);
    c.capacitors = {rest[0], rest[1]};
    std::vector<double> sum(s.nodes.size(), 0.0);
    std::vector<double> largest(s.nodes.size(), 0.0);
    sum_at_nodes(s, c, sum, largest);
    for (std::size_t node = 1; node < s.nodes.size(); ++node) {
      CAPTURE(w.seconds[k], node);
      CHECK(std::abs(sum[node]) <= kResidualAmps + kResidualShare * largest[node]);
    }
  }
}

TEST_CASE("more unknowns than the small solver takes change nothing",
          "[nodal][transient]") {
  const Timeline t = timeline(rc(), 5e-3, {kRise});
  HandNetwork wide = rc();
  for (int k = 0; k < 70; ++k) {
    const int node = 3 + k;
    wide.structure.nodes.push_back("pad" + std::to_string(k));
    wide.resistor(node, k == 0 ? 0 : node - 1, 1e3);
  }
  wide.structure.nets = static_cast<int>(wide.structure.nodes.size());
  const std::vector<double> times = {1e-3, 2e-3, 3e-3};
  const Waveform a = solved(t, times);
  const Waveform b = solved(timeline(wide, 5e-3, {kRise}), times);
  REQUIRE(a.seconds.size() == b.seconds.size());
  for (std::size_t k = 0; k < a.seconds.size(); ++k) {
    CHECK_THAT(b.row(k)[2], WithinAbs(a.row(k)[2], 1e-12));
  }
}

// Common practice, no source: a multivibrator of two transistors changes sides after
// ln 2 R C each, if its supply is large against a junction's voltage.
TEST_CASE("two transistors that switch each other jump", "[nodal][transient][jump]") {
  HandNetwork hand(6);
  hand.voltage_source(1, 0, 0.0);
  hand.resistor(1, 2, 1e3);
  hand.resistor(1, 3, 1e3);
  hand.resistor(1, 4, 47e3);
  hand.resistor(1, 5, 46e3);
  hand.bipolar(2, 5, 0, npn());
  hand.bipolar(3, 4, 0, npn());
  hand.capacitor(2, 4, 1e-6);
  hand.capacitor(3, 5, 1e-6);
  const Waveform w = solved(timeline(hand, 1.0, {{0, {{0.0, 0.0}, {1e-3, 12.0}}}}));
  std::vector<double> falls;
  for (std::size_t k = 1; k < w.seconds.size(); ++k) {
    if (w.row(k)[2] < 6.0 && w.row(k - 1)[2] >= 6.0) falls.push_back(w.seconds[k]);
  }
  REQUIRE(falls.size() >= 5);
  const double period = falls[4] - falls[3];
  // Between ln 2 and what a base voltage of 0.8 V would make of it, saturation aside:
  // ln((12 + 11.2) / 11.2).
  CHECK(period > 0.97 * std::log(2.0) * 93e-3);
  CHECK(period < 1.03 * std::log(23.2 / 11.2) * 93e-3);
}

TEST_CASE("no rest, no run", "[nodal][transient][failure]") {
  HandNetwork hand(2);
  hand.current_source(1, 0, 1e-3);
  hand.capacitor(1, 0, 1e-6);
  Timeline t = timeline(hand, 1.0);
  const Waveform w = solve_nodal(t);
  CHECK(w.status == SolveStatus::no_convergence);
  CHECK_THAT(w.reason, Contains("at rest") && Contains("'node_1'"));
  // With a charge to start from it is a ramp: 1 mA into 1 uF for 1 s.
  t.from_rest = false;
  t.capacitor_volts = {0.0};
  const Waveform ramp = solved(t);
  CHECK_THAT(ramp.row(ramp.seconds.size() - 1)[1], WithinRel(1000.0, 1e-9));
}

TEST_CASE("what swings too fast for the span is refused, and soon",
          "[nodal][transient][failure]") {
  // 1 uH and 25 nF ring at 1 MHz, and nothing damps them.
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 0.0);
  hand.inductor(1, 2, 1e-6);
  hand.capacitor(2, 0, 25e-9);
  const Waveform w =
      solve_nodal(timeline(hand, 3600.0, {{0, {{0.0, 0.0}, {1e-6, 5.0}}}}));
  CHECK(w.status == SolveStatus::no_convergence);
  CHECK_THAT(w.reason, Contains("too fast for the span") && Contains("'node_2'") &&
                           Contains("of the run"));
  CHECK(w.seconds.size() < 200'000);
}

TEST_CASE("no more points than allowed", "[nodal][transient][failure]") {
  TransientOptions o;
  o.points = 20;
  const Waveform w = solve_nodal(timeline(rc(), 5e-3, {kRise}), {}, o);
  CHECK(w.status == SolveStatus::no_convergence);
  CHECK_THAT(w.reason, Contains("more than 20 points"));
  CHECK(w.seconds.size() == 20);
  CHECK(w.rows.size() == 20 * w.width);
}

TEST_CASE("no more work than allowed", "[nodal][transient][failure]") {
  // 20 kHz for a second, nothing to be followed with so little.
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 0.0);
  hand.inductor(1, 2, 1e-3);
  hand.capacitor(2, 0, 63e-9);
  const Timeline t = timeline(hand, 1.0, {{0, {{0.0, 0.0}, {1e-6, 5.0}}}});
  TransientOptions o;
  o.work = 1e5;
  const Waveform w = solve_nodal(t, {}, o);
  CHECK(w.status == SolveStatus::no_convergence);
  CHECK_THAT(w.reason, Contains("too often for the span") && Contains("'node_2'") &&
                           Contains("of the run"));
  // Five unknowns, and five steps of Newton's method at least for most points.
  CHECK(w.seconds.size() > 10);
  CHECK(w.seconds.size() < 100'000 / (5 * 5));
}

TEST_CASE("a junction straight across a rising source is refused by its net and time",
          "[nodal][transient][failure]") {
  HandNetwork hand = rc();
  hand.diode(1, 0, DiodeModel{});
  const Waveform w = solve_nodal(timeline(hand, 5e-3, {kRise}));
  CHECK(w.status == SolveStatus::no_convergence);
  CHECK_THAT(w.reason, Contains("'node_1'") && Contains("1 GA") && Contains("us of"));
}

TEST_CASE("what is no timeline is the caller's mistake", "[nodal][transient]") {
  const Timeline good = timeline(rc(), 5e-3, {kRise});
  CHECK_NOTHROW(solved(good));
  const auto refused = [&](auto change) {
    Timeline t = good;
    change(t);
    CHECK_THROWS_AS(solve_nodal(t), std::invalid_argument);
  };
  refused([](Timeline& t) { t.span = 0.0; });
  refused([](Timeline& t) { t.span = kNan; });
  refused([](Timeline& t) { t.span = std::numeric_limits<double>::infinity(); });
  refused([](Timeline& t) { t.network.structure = nullptr; });
  refused([](Timeline& t) { t.network.values.farads[0] = kNan; });
  refused([](Timeline& t) { t.volts[0].element = 1; });
  refused([](Timeline& t) { t.volts[0].element = -1; });
  refused([](Timeline& t) { t.volts[0].corners.clear(); });
  refused([](Timeline& t) { t.volts[0].corners[1].value = kNan; });
  refused([](Timeline& t) { t.volts[0].corners[1].seconds = kNan; });
  refused([](Timeline& t) { std::swap(t.volts[0].corners[0], t.volts[0].corners[1]); });
  refused([](Timeline& t) { t.ohms = {{0, {{0.0, 0.0}}}}; });
  refused([](Timeline& t) { t.from_rest = false; });
  refused([](Timeline& t) {
    t.from_rest = false;
    t.capacitor_volts = {kNan};
  });
  for (const std::vector<double>& times : std::vector<std::vector<double>>{
           {-1e-9}, {5.1e-3}, {2e-3, 1e-3}, {kNan}, {1e-3, kNan}}) {
    CHECK_THROWS_AS(solve_nodal(good, times), std::invalid_argument);
  }
  const auto without = [&](auto change) {
    TransientOptions o;
    change(o);
    CHECK_THROWS_AS(solve_nodal(good, {}, o), std::invalid_argument);
  };
  without([](TransientOptions& o) { o.relative = 0.0; });
  without([](TransientOptions& o) { o.volts = kNan; });
  without([](TransientOptions& o) { o.amps = -1.0; });
  without([](TransientOptions& o) { o.bend = 0.0; });
  without([](TransientOptions& o) { o.work = 0.0; });
  without([](TransientOptions& o) { o.longest = 1.1; });
  without([](TransientOptions& o) { o.points = 1; });
  without([](TransientOptions& o) { o.method.stages = 1; });
  without([](TransientOptions& o) { o.until = Watch{3, 0, 1.0, true}; });
  without([](TransientOptions& o) { o.until = Watch{2, -1, 1.0, true}; });
  without([](TransientOptions& o) { o.until = Watch{2, 0, kNan, true}; });
}

// 5 V through 1 kohm into 1 uF, at once: V(t) = 5 (1 - exp(-t/1 ms)).
TEST_CASE("a run ends where a level is passed", "[nodal][transient][closed-form]") {
  Timeline t = timeline(rc(), 20e-3);
  t.network.values.volts[0] = 5.0;
  t.from_rest = false;
  t.capacitor_volts = {0.0};
  const auto last = [](const Timeline& course, const Watch& watch) {
    const Waveform w = nodal_until(course, watch);
    REQUIRE(w.status == SolveStatus::solved);
    for (std::size_t k = 1; k < w.seconds.size(); ++k)
      REQUIRE(w.seconds[k] > w.seconds[k - 1]);
    CHECK_THAT(w.row(w.seconds.size() - 1)[watch.node] -
                   w.row(w.seconds.size() - 1)[watch.against],
               WithinAbs(watch.level, 1e-9) || WithinAbs(5.0, 1e-6));
    return w.seconds.back();
  };
  const double level = GENERATE(0.01, 1.0, 2.5, 4.9, 4.999);
  CAPTURE(level);
  // The method's error of 1e-7 of the voltage and 0.1 uV, over the slope there, a few
  // steps' worth of it.
  const double bound = 10.0 * 6e-7 / ((5.0 - level) / 1e-3);
  const double when = -1e-3 * std::log(1.0 - level / 5.0);
  CHECK_THAT(last(t, {2, 0, level, true}), WithinAbs(when, bound));
  // Across the resistor it falls, from node 1 to node 2.
  CHECK_THAT(last(t, {1, 2, 5.0 - level, false}), WithinAbs(when, bound));
  // Never: the whole span. It begins below, so that it cannot fall there; and never
  // gets beyond 5 V.
  CHECK(last(t, {2, 0, level, false}) == t.span);
  CHECK(nodal_until(t, {2, 0, 5.1, true}).seconds.back() == t.span);
}

TEST_CASE("a level is passed in a flank as well, and after coming back",
          "[nodal][transient][closed-form]") {
  HandNetwork hand(2);
  hand.voltage_source(1, 0, 4.0);
  hand.resistor(1, 0, 1e3);
  const Timeline t = timeline(
      hand, 10e-3, {{0, {{1e-3, 4.0}, {1.001e-3, 0.0}, {5e-3, 0.0}, {7e-3, 4.0}}}});
  // Begins above 1 V, falls at 1 ms, and rises through it at 5 ms + 2 ms / 4.
  CHECK_THAT(nodal_until(t, {1, 0, 1.0, true}).seconds.back(),
             WithinAbs(5.5e-3, 1e-11));
  CHECK_THAT(nodal_until(t, {1, 0, 1.0, false}).seconds.back(),
             WithinAbs(1.00075e-3, 1e-11));
}

// Random networks of all elements, powered up and down, with capacitors and inductors
// added: the default options against a hundred times tighter ones.
TEST_CASE("random networks in time", "[nodal][transient][random]") {
  constexpr std::uint64_t kSeed = 11;
  const int index = GENERATE(range(0, 60));
  CAPTURE(kSeed, index);
  Network n = test::random_network(kSeed, static_cast<std::uint64_t>(index));
  Structure s = *n.structure;
  std::mt19937_64 random(kSeed + 1000 * static_cast<std::uint64_t>(index));
  std::uniform_real_distribution<double> share(0.0, 1.0);
  const int outer = static_cast<int>(s.nodes.size());
  const auto any = [&] { return static_cast<int>(share(random) * outer); };
  const auto inner = [&] {
    s.nodes.emplace_back("inner");
    return static_cast<int>(s.nodes.size()) - 1;
  };
  for (int k = 0; k < 3; ++k) {
    const int node = inner();
    s.resistors.push_back({any(), node, {}});
    n.values.ohms.push_back(std::pow(10.0, -1.0 + 2.0 * share(random)));
    s.capacitors.push_back({node, any(), {}});
    n.values.farads.push_back(std::pow(10.0, -9.0 + 6.0 * share(random)));
  }
  const int node = inner();
  s.inductors.push_back({any(), node, {}});
  n.values.coils.push_back({std::pow(10.0, -5.0 + 3.0 * share(random))});
  s.resistors.push_back({node, 0, {}});
  n.values.ohms.push_back(100.0);
  Timeline t;
  t.span = 50e-3;
  for (std::size_t k = 0; k < n.values.volts.size(); ++k) {
    const double volts = std::exchange(n.values.volts[k], 0.0);
    t.volts.push_back({static_cast<int>(k),
                       {{0.0, 0.0},
                        {1e-3, volts},
                        {20e-3, volts},
                        {21e-3, 0.6 * volts},
                        {30e-3, 0.6 * volts},
                        {30.1e-3, volts}}});
  }
  n.structure = std::make_shared<const Structure>(std::move(s));
  t.network = std::move(n);
  std::vector<double> times;
  for (int k = 0; k < 100; ++k) times.push_back(t.span * (k + 0.3) / 100);
  const Waveform coarse = solved(t, times);
  TransientOptions tight;
  tight.relative = 1e-8;
  tight.volts = 1e-8;
  tight.amps = 1e-11;
  const Waveform fine = solved(t, times, tight);
  double swing = 0.0;
  double worst = 0.0;
  std::size_t c = 0;
  std::size_t f = 0;
  for (const double seconds : times) {
    while (coarse.seconds[c] < seconds) ++c;
    while (fine.seconds[f] < seconds) ++f;
    for (std::size_t k = 1; k < t.network.structure->nodes.size(); ++k) {
      swing = std::max(swing, std::abs(fine.row(f)[k]));
      worst = std::max(worst, std::abs(coarse.row(c)[k] - fine.row(f)[k]));
    }
  }
  // 1e-4 is promised of what capacitors hold; a transistor's collector magnifies what
  // its base is off by.
  CHECK(worst <= 3e-4 * swing);
}

}  // namespace benchproof
