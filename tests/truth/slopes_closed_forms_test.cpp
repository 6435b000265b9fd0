// Slopes that follow from algebra: dividers and bridges, what Tellegen's theorem says
// of every network of resistors, junctions and transistors with a resistor.

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <vector>

#include "core/device/constants.h"
#include "core/nodal/nodal_solver.h"
#include "core/nodal/sensitivities.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

constexpr double kSlopeEps = std::numeric_limits<double>::epsilon();

/// LU with pivoting is backward stable [Higham 2002, "Accuracy and Stability of
/// Numerical Algorithms", sec. 9.3]: n eps cond, with at most 4 unknowns and cond below
/// 1e6 of the small linear networks here.
constexpr double kLinear = 4 * 1e6 * kSlopeEps;

/// Newton's method settles nonlinear circuits to 1e-9 of each unknown (NodalOptions);
/// its last step squares what was left, so that ten times less is demanded.
constexpr double kSlopeNonlinear = 1e-10;

/// The slopes of figures of a network at its operating point.
struct Solved {
  Network network;
  Solution solution;
  std::vector<Differential> figures;
  Slopes slopes;

  [[nodiscard]] double by(std::size_t figure, ValueList list, std::size_t index,
                          std::size_t number = 0) const {
    return slopes.by(figure, {list, index, number});
  }
  [[nodiscard]] double by_ohms(std::size_t figure, std::size_t index) const {
    return by(figure, ValueList::ohms, index);
  }
  [[nodiscard]] double volts(int node) const { return solution.volts[node]; }
};

template <class Figures>
Solved solved(const HandNetwork& hand, const Figures& figures_of) {
  const Network network = hand.network();
  const Solution solution = solve_nodal(network);
  REQUIRE(solution.status == SolveStatus::solved);
  const std::vector<Differential> figures = figures_of(*network.structure, solution);
  auto slopes = Sensitivities(network.structure).at(network, solution, figures);
  REQUIRE(slopes);
  return {network, solution, figures, *slopes};
}

/// The voltages of these nodes.
auto volts_of(const std::vector<int>& nodes) {
  return [nodes](const Structure& s, const Solution&) {
    std::vector<Differential> figures;
    for (const int node : nodes) figures.push_back(differential_of_volts(s, node));
    return figures;
  };
}

/// The number of that name among a model's.
template <class Model>
std::size_t number(std::string_view name) {
  std::size_t k = 0;
  while (k < Model::kNumbers.size() && Model::kNumbers[k].name != name) ++k;
  REQUIRE(k < Model::kNumbers.size());
  return k;
}

}  // namespace

TEST_CASE("a divider's slopes follow from its ratio", "[truth][closed-form]") {
  const double r1 = GENERATE(10.0, 1e3, 4.7e4);
  const double r2 = GENERATE(22.0, 1e3, 1e6);
  const double supply = 12.0;
  CAPTURE(r1, r2);
  HandNetwork hand(3);  // 1 supply, 2 tap
  hand.voltage_source(1, 0, supply);
  hand.resistor(1, 2, r1);
  hand.resistor(2, 0, r2);
  const Solved s = solved(hand, [](const Structure& of, const Solution& at) {
    // The tap; the supply's current; what r2 takes up, volts and amperes of which both
    // move.
    std::vector<Differential> figures{differential_of_volts(of, 2), no_differential(of),
                                      no_differential(of)};
    figures[1].by_amps.voltage_sources[0] = 1.0;
    figures[2].by_amps.resistors[1] = at.volts[2];
    figures[2].by_volts[2] = at.currents.resistors[1];
    return figures;
  });
  const double sum = r1 + r2;
  const double square = sum * sum;
  CHECK_THAT(s.by_ohms(0, 0), WithinRel(-supply * r2 / square, kLinear));
  CHECK_THAT(s.by_ohms(0, 1), WithinRel(supply * r1 / square, kLinear));
  CHECK_THAT(s.by(0, ValueList::volts, 0), WithinRel(r2 / sum, kLinear));
  // Out of its plus end.
  CHECK_THAT(s.by_ohms(1, 0), WithinRel(supply / square, kLinear));
  CHECK_THAT(s.by(1, ValueList::volts, 0), WithinRel(-1.0 / sum, kLinear));
  const double watts = supply * supply / (square * sum);
  CHECK_THAT(s.by_ohms(2, 0), WithinRel(-2.0 * r2 * watts, kLinear));
  CHECK_THAT(s.by_ohms(2, 1), WithinAbs((r1 - r2) * watts, kLinear * sum * watts));
  CHECK(s.slopes.by_celsius(0) == 0.0);
}

TEST_CASE("a bridge in balance does not move with its detector",
          "[truth][closed-form]") {
  const double r1 = 1e3;
  const double r2 = 2e3;
  const double r3 = 470.0;
  const double r4 = GENERATE(940.0, 1500.0);
  HandNetwork hand(4);  // 1 supply, 2 and 3 taps
  hand.voltage_source(1, 0, 10.0);
  hand.resistor(1, 2, r1);
  hand.resistor(2, 0, r2);
  hand.resistor(1, 3, r3);
  hand.resistor(3, 0, r4);
  hand.resistor(2, 3, 1e4);
  const Solved s = solved(hand, [](const Structure& of, const Solution&) {
    Differential between = differential_of_volts(of, 2);
    add(between, differential_of_volts(of, 3), -1.0);
    return std::vector{between};
  });
  // Thevenin: the open bridge's voltage behind the two dividers' resistances.
  const double left = r1 + r2;
  const double right = r3 + r4;
  const double open = 10.0 * (r2 / left - r4 / right);
  const double inner = r1 * r2 / left + r3 * r4 / right;
  const double share = 1e4 / (1e4 + inner);
  CHECK_THAT(s.by_ohms(0, 4),
             WithinAbs(open * inner / ((1e4 + inner) * (1e4 + inner)), 10.0 * kLinear));
  const double by_open = -10.0 * r2 / (left * left);
  const double by_inner = r2 * r2 / (left * left);
  CHECK_THAT(
      s.by_ohms(0, 0),
      WithinRel(share * by_open - share * open / (1e4 + inner) * by_inner, 1e-9));
  CHECK_THAT(s.by(0, ValueList::volts, 0), WithinAbs(share * open / 10.0, kLinear));
}

// Source (from memory): B. D. H. Tellegen, "A general network theorem, with
// applications", Philips Research Reports 7 (1952) 259-269; S. W. Director, R. A.
// Rohrer, IEEE Trans. Circuit Theory 16 (1969) 318-323. A network of resistors is its
// own adjoint: a node's voltage moves with each resistance by the product of its
// current and the one that an ampere into the node drives through it with the sources
// at rest.
TEST_CASE("resistors move voltages as Tellegen's theorem says",
          "[truth][closed-form]") {
  constexpr std::uint64_t kRandomSeed = 7;
  std::mt19937_64 random(kRandomSeed);
  std::uniform_real_distribution<double> decade(1.0, 5.0);
  constexpr int kNodes = 30;
  for (int round = 0; round < 20; ++round) {
    CAPTURE(kRandomSeed, round);
    HandNetwork hand(kNodes);
    hand.voltage_source(1, 0, 12.0);
    hand.current_source(kNodes - 1, 2, 3e-3);
    const auto node = [&](int count) { return static_cast<int>(random() % count); };
    for (int k = 2; k < kNodes; ++k)
      hand.resistor(k, node(k), std::pow(10.0, decade(random)));
    for (int k = 0; k < kNodes; ++k) {
      const int a = node(kNodes);
      hand.resistor(a, (a + 1 + node(kNodes - 1)) % kNodes,
                    std::pow(10.0, decade(random)));
    }
    const int out = 2 + node(kNodes - 2);
    const Solved s = solved(hand, volts_of({out}));
    HandNetwork adjoint = hand;
    adjoint.values.volts = {0.0};
    adjoint.values.amps = {0.0};
    adjoint.current_source(out, 0, 1.0);
    const Solution by_ampere = solve_nodal(adjoint.network());
    // Of the sums below: n eps cond of the largest voltage.
    constexpr double kBound = kNodes * 1e5 * kSlopeEps * 12.0;
    double by_all_ohms = 0.0;
    for (std::size_t k = 0; k < hand.values.ohms.size(); ++k) {
      const double product =
          s.solution.currents.resistors[k] * by_ampere.currents.resistors[k];
      CHECK_THAT(hand.values.ohms[k] * s.by_ohms(0, k),
                 WithinAbs(hand.values.ohms[k] * product, kBound));
      by_all_ohms += hand.values.ohms[k] * s.by_ohms(0, k);
    }
    const double by_volts = 12.0 * s.by(0, ValueList::volts, 0);
    const double by_amps = 3e-3 * s.by(0, ValueList::amps, 0);
    // Superposition; and with all resistances the part of the current source grows.
    CHECK_THAT(by_volts + by_amps, WithinAbs(s.volts(out), kBound));
    CHECK_THAT(by_all_ohms, WithinAbs(by_amps, kBound));
  }
}

// i = is (exp(u / nvt) - 1) behind R + rs: with the junction's slope resistance
// rd = nvt / (i + is), what moves u at a fixed current by du moves the terminal by
// R / (R + rs + rd) of it.
TEST_CASE("a diode with a resistor moves as its law says", "[truth][closed-form]") {
  const double ohms = GENERATE(100.0, 1e4);
  const double rs = GENERATE(0.0, 2.0);
  const double celsius = GENERATE(27.0, 60.0);
  CAPTURE(ohms, rs, celsius);
  DiodeModel m;
  m.is = 1e-12;
  m.n = 1.6;
  m.rs = rs;
  HandNetwork hand(3);  // 1 supply, 2 anode
  hand.celsius = celsius;
  hand.voltage_source(1, 0, 5.0);
  hand.resistor(1, 2, ohms);
  hand.diode(2, 0, m);
  const Solved s = solved(hand, [](const Structure& of, const Solution&) {
    std::vector<Differential> figures{differential_of_volts(of, 2),
                                      no_differential(of)};
    figures[1].by_amps.diodes[0] = 1.0;
    return figures;
  });
  const double amps = s.solution.currents.diodes[0];
  const double kelvin = celsius + kZeroCelsius;
  const double nominal = m.tnom + kZeroCelsius;
  const double vt = thermal_voltage(celsius);
  const double is = m.is * std::exp((kelvin / nominal - 1.0) * m.eg / (m.n * vt) +
                                    m.xti / m.n * std::log(kelvin / nominal));
  const double u = m.n * vt * std::log1p(amps / is);
  const double rd = m.n * vt / (amps + is);
  const double loop = ohms + rs + rd;
  // kJunctionLeak beside rd: below 1e-10 of it.
  const auto check = [&](std::size_t slot, double du) {
    CAPTURE(DiodeModel::kNumbers[slot].name);
    CHECK_THAT(s.by(0, ValueList::diodes, 0, slot),
               WithinRel(ohms / loop * du, kSlopeNonlinear));
    CHECK_THAT(s.by(1, ValueList::diodes, 0, slot),
               WithinRel(-du / loop, kSlopeNonlinear));
  };
  const double by_is = -m.n * vt * amps / (is * (amps + is));
  check(number<DiodeModel>("is"), by_is * is / m.is);
  check(number<DiodeModel>("rs"), amps);
  // At tnom the exponent is 0, and elsewhere ln(is) moves with n as 1/n does.
  const double lift = std::log(is / m.is);
  check(number<DiodeModel>("n"), u / m.n - by_is * is * lift / m.n);
  CHECK_THAT(s.by_ohms(0, 0), WithinRel(-amps * (rs + rd) / loop, 1e-9));
  CHECK_THAT(s.by(0, ValueList::volts, 0), WithinRel((rs + rd) / loop, 1e-9));
  const double by_kelvin =
      u / kelvin + by_is * is * (m.eg / vt + m.xti) / (m.n * kelvin);
  CHECK_THAT(s.slopes.by_celsius(0),
             WithinRel(ohms / loop * by_kelvin, kSlopeNonlinear));
}

// Ib flows in, bf Ib through the collector's resistor, whatever the junction does.
TEST_CASE("a transistor's collector moves with its gain", "[truth][closed-form]") {
  const bool is_pnp = GENERATE(false, true);
  const double sign = is_pnp ? -1.0 : 1.0;
  BipolarModel m;
  m.is_pnp = is_pnp;
  m.bf = 150.0;
  HandNetwork hand(4);  // 1 supply, 2 collector, 3 base
  hand.voltage_source(1, 0, sign * 12.0);
  hand.resistor(1, 2, 1e3);
  hand.current_source(3, 0, sign * 20e-6);
  hand.bipolar(2, 3, 0, m);
  const Solved s = solved(hand, volts_of({2}));
  // kJunctionLeak from collector to base, as seen at the collector: times the gain and
  // 1 kohm 1.5e-10 of it.
  constexpr double kLeak = 1e-9;
  const std::size_t bf = number<BipolarModel>("bf");
  CHECK_THAT(s.by(0, ValueList::bipolars, 0, bf), WithinRel(-sign * 20e-3, kLeak));
  CHECK_THAT(s.by(0, ValueList::amps, 0), WithinRel(-150e3, kLeak));
  CHECK_THAT(s.by_ohms(0, 0), WithinRel(-sign * 3e-3, kLeak));
  CHECK_THAT(s.by(0, ValueList::volts, 0), WithinRel(1.0, kLeak));
}

// I = kp/2 o^2 (1 + lambda v) with the drain's resistor: v = V - R I is linear in v.
TEST_CASE("a MOS transistor beyond its knee moves by the square law",
          "[truth][closed-form]") {
  const bool is_p_channel = GENERATE(false, true);
  const double sign = is_p_channel ? -1.0 : 1.0;
  MosModel m;
  m.is_p_channel = is_p_channel;
  m.vto = sign * 1.5;
  m.kp = 4e-3;
  m.lambda = 0.03;
  const double ohms = 1e3;
  HandNetwork hand(4);  // 1 supply, 2 drain, 3 gate
  hand.voltage_source(1, 0, sign * 12.0);
  hand.voltage_source(3, 0, sign * 2.5);
  hand.resistor(1, 2, ohms);
  hand.mosfet(2, 3, 0, m);
  const Solved s = solved(hand, volts_of({2}));
  const double current = 0.5 * m.kp;  // Of an overdrive of 1 V.
  const double grown = 1.0 + ohms * current * m.lambda;
  const double volts = (12.0 - ohms * current) / grown;
  CHECK_THAT(sign * s.volts(2), WithinRel(volts, kSlopeNonlinear));
  const double by_current = -ohms * (1.0 + m.lambda * volts) / grown;
  const auto by = [&](const char* name) {
    return sign * s.by(0, ValueList::mosfets, 0, number<MosModel>(name));
  };
  CHECK_THAT(by("kp"), WithinRel(by_current * 0.5, kSlopeNonlinear));
  CHECK_THAT(sign * by("vto"), WithinRel(-by_current * m.kp, kSlopeNonlinear));
  CHECK_THAT(by("lambda"), WithinRel(-ohms * current * volts / grown, kSlopeNonlinear));
}

TEST_CASE("a coil at rest is its winding", "[truth][closed-form]") {
  HandNetwork hand(3);
  hand.voltage_source(1, 0, 6.0);
  hand.resistor(1, 2, 20.0);
  hand.inductor(2, 0, 1e-3);
  hand.values.coils[0] = {1e-3, 10.0, 1e-4};
  const Solved s = solved(hand, [](const Structure& of, const Solution&) {
    std::vector<Differential> figures{differential_of_volts(of, 2),
                                      no_differential(of)};
    figures[1].by_amps.inductors[0] = 1.0;
    return figures;
  });
  const auto by = [&](std::size_t figure, const char* name) {
    return s.by(figure, ValueList::coils, 0, number<CoilModel>(name));
  };
  CHECK_THAT(by(0, "ohms"), WithinRel(6.0 * 20.0 / 900.0, kLinear));
  CHECK_THAT(by(1, "ohms"), WithinRel(-6.0 / 900.0, kLinear));
  // Nothing stands across the inductance, and nothing flows in the core's loss.
  CHECK(by(0, "henries") == 0.0);
  CHECK_THAT(by(0, "siemens"), WithinAbs(0.0, 6.0 * 900.0 * kLinear));
}

// In regulation out = output + line (in - line_reference) - resistance i, out = i R.
TEST_CASE("a regulator's output moves with its figures", "[truth][closed-form]") {
  const bool is_negative = GENERATE(false, true);
  const double sign = is_negative ? -1.0 : 1.0;
  RegulatorModel m;
  m.is_negative = is_negative;
  m.resistance = 0.5;
  m.line = 2e-3;
  m.line_reference = 9.0;
  m.quiescent = 5e-3;
  HandNetwork hand(3);
  hand.voltage_source(1, 0, sign * 12.0);
  hand.resistor(2, 0, 50.0);
  hand.regulator(1, 0, 2, m);
  const Solved s = solved(hand, [](const Structure& of, const Solution&) {
    std::vector<Differential> figures{differential_of_volts(of, 2),
                                      no_differential(of)};
    figures[1].by_amps.regulators[0][0] = 1.0;
    return figures;
  });
  const double set = 5.0 + 2e-3 * 3.0;
  const double share = 50.0 / 50.5;
  const auto by = [&](std::size_t figure, const char* name) {
    return sign * s.by(figure, ValueList::regulators, 0, number<RegulatorModel>(name));
  };
  // The smooth corners of dropout and limit: their bends (1 mV, 0.1 nA) over the
  // distance from them (5 V, 1.4 A), squared.
  constexpr double kBends = 1e-7;
  CHECK_THAT(by(0, "output"), WithinRel(share, kBends));
  CHECK_THAT(by(0, "line"), WithinRel(share * 3.0, kBends));
  CHECK_THAT(by(0, "line_reference"), WithinRel(-share * 2e-3, kBends));
  CHECK_THAT(by(0, "resistance"), WithinRel(-share * set / 50.5, kBends));
  CHECK_THAT(by(0, "dropout"), WithinAbs(0.0, kBends));
  CHECK_THAT(by(0, "quiescent"), WithinAbs(0.0, kBends));
  // Its input takes what its output gives, and the quiescent current.
  const double awake = std::tanh(12.0 / 0.5);
  CHECK_THAT(by(1, "output"), WithinRel(share / 50.0, kBends));
  CHECK_THAT(by(1, "quiescent"), WithinRel(awake, kBends));
}

}  // namespace benchproof
