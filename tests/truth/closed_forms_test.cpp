// Circuits whose operating point follows from algebra: a saturated transistor, the
// square law, a regulator in its three ways of working, and what holds for every
// network of resistors. Nodal witness; the engine is held against it elsewhere.

#include <Eigen/Dense>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <iostream>
#include <limits>
#include <random>
#include <vector>

#include "core/device/constants.h"
#include "core/device/regulator.h"
#include "core/nodal/nodal_solver.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using Catch::WithinAbs;
using Catch::WithinRel;
using test::HandNetwork;

constexpr double kEps = std::numeric_limits<double>::epsilon();

/// Newton's method settles nonlinear circuits to 1e-9 of each unknown (NodalOptions);
/// its last step squares what was left, so that ten times less is demanded.
constexpr double kNonlinear = 1e-10;

Solution solved(const HandNetwork& hand) {
  Solution s = solve_nodal(hand.network());
  UNSCOPED_INFO(s.reason);
  REQUIRE(s.status == SolveStatus::solved);
  return s;
}

}  // namespace

// Source (from memory): J. J. Ebers, J. L. Moll, "Large-signal behavior of junction
// transistors", Proceedings of the IRE 42 (1954) 1761-1772. With f and r the currents
// that the two junctions transport,
//
//   IC = f - r - r/br,  IB = f/bf + r/br
//
// is linear in f and r; each junction's voltage is nvt ln(1 + current/is).
TEST_CASE("a saturated transistor obeys Ebers and Moll", "[truth][closed-form]") {
  const bool is_pnp = GENERATE(false, true);
  const double celsius = GENERATE(-20.0, 27.0, 85.0);
  const double bf = GENERATE(20.0, 300.0);
  const double br = GENERATE(0.5, 4.0);
  const double forced_gain = GENERATE(0.0, 1.0, 10.0, 19.0);
  BipolarModel m;
  m.is_pnp = is_pnp;
  m.is = 1e-14;
  m.bf = bf;
  m.br = br;
  m.nf = 1.1;
  m.nr = 1.05;
  m.tnom = celsius;
  const double ib = 1e-3;
  const double ic = forced_gain * ib;
  // kJunctionLeak beside junctions that carry microamperes or more: below 1e-9 of them.
  const double r = (ib - ic / bf) / ((1.0 + 1.0 / br) / bf + 1.0 / br);
  const double f = ic + r * (1.0 + 1.0 / br);
  const double vt = thermal_voltage(celsius);
  const double vbe = m.nf * vt * std::log1p(f / m.is);
  const double vce = vbe - m.nr * vt * std::log1p(r / m.is);

  const double sign = is_pnp ? -1.0 : 1.0;
  HandNetwork hand(3);  // 1 base, 2 collector
  hand.celsius = celsius;
  hand.current_source(1, 0, sign * ib);
  hand.current_source(2, 0, sign * ic);
  hand.bipolar(2, 1, 0, m);
  const Solution s = solved(hand);
  CAPTURE(is_pnp, celsius, bf, br, forced_gain);
  CHECK_THAT(sign * s.volts[1], WithinRel(vbe, kNonlinear));
  // A difference of two junction voltages: bounded by what each may be off.
  CHECK_THAT(sign * s.volts[2], WithinAbs(vce, kNonlinear * vbe));
  CHECK_THAT(sign * s.currents.bipolars[0][1], WithinRel(ib, kNonlinear));
  CHECK_THAT(sign * s.currents.bipolars[0][0],
             WithinAbs(ic, kNonlinear * (ib + ic) * (1.0 + 1.0 / br)));
}

// Source (from memory): H. Gummel, H. Poon, "An integral charge control model of
// bipolar transistors", Bell System Technical Journal 49 (1970) 827-852. Of an active
// transistor with f = bf IB and IC = f / qb, qb = 1 + IC/ikf:
//
//   IC = ikf/2 (sqrt(1 + 4 bf IB / ikf) - 1)
TEST_CASE("an active transistor's current by its knee", "[truth][closed-form]") {
  const bool is_pnp = GENERATE(false, true);
  const double celsius = GENERATE(-20.0, 27.0, 85.0);
  const double ikf = GENERATE(1e-3, 0.1, 2.0);
  const double ib = GENERATE(1e-5, 1e-3, 1e-2);
  BipolarModel m;
  m.is_pnp = is_pnp;
  m.is = 1e-14;
  m.bf = 200.0;
  m.ikf = ikf;
  m.tnom = celsius;
  const double f = m.bf * ib;
  const double ic = 0.5 * ikf * (std::sqrt(1.0 + 4.0 * f / ikf) - 1.0);
  const double sign = is_pnp ? -1.0 : 1.0;
  HandNetwork hand(3);  // 1 base, 2 collector
  hand.celsius = celsius;
  hand.current_source(1, 0, sign * ib);
  hand.voltage_source(2, 0, sign * 5.0);
  hand.bipolar(2, 1, 0, m);
  const Solution s = solved(hand);
  CAPTURE(is_pnp, celsius, ikf, ib);
  // The collector's junction blocks with 4 V: leaks of picoamperes.
  CHECK_THAT(sign * s.currents.bipolars[0][0], WithinRel(ic, 1e-6));
  CHECK_THAT(sign * s.volts[1],
             WithinRel(thermal_voltage(celsius) * std::log1p(f / m.is), 1e-8));
}

// Source: H. Shichman, D. Hodges, "Modeling and simulation of insulated-gate
// field-effect transistor switching circuits", IEEE J. Solid-State Circuits 3 (1968)
// 285-289 (from memory): I = kp/2 o^2 beyond, kp (o v - v^2/2) below v = o, where o is
// the gate's voltage above the threshold; with a resistor each is a quadratic equation.
TEST_CASE("square-law transistors by the quadratic formula", "[truth][closed-form]") {
  const bool is_p_channel = GENERATE(false, true);
  const double sign = is_p_channel ? -1.0 : 1.0;
  const double kp = GENERATE(1e-4, 2e-2, 3.0);
  const double threshold = GENERATE(0.7, 2.1);
  const double supply = GENERATE(3.3, 12.0);
  const double ohms = GENERATE(10.0, 1e3, 1e5);
  CAPTURE(is_p_channel, kp, threshold, supply, ohms);
  MosModel m;
  m.is_p_channel = is_p_channel;
  m.kp = kp;
  m.vto = sign * threshold;

  SECTION("gate and drain together: always beyond the knee") {
    // (supply - threshold - o) / R = kp/2 o^2; the root in the form without cancelling.
    const double head = supply - threshold;
    const double over = 2.0 * head / (1.0 + std::sqrt(1.0 + 2.0 * kp * ohms * head));
    HandNetwork hand(3);
    hand.voltage_source(1, 0, sign * supply);
    hand.resistor(1, 2, ohms);
    hand.mosfet(2, 2, 0, m);
    const Solution s = solved(hand);
    CHECK_THAT(sign * s.volts[2], WithinRel(threshold + over, kNonlinear));
  }
  SECTION("gate at the supply: below the knee when the resistor is large enough") {
    const double over = supply - threshold;
    const double beyond = supply - ohms * 0.5 * kp * over * over;
    double drain = beyond;
    if (beyond < over) {
      // kp R/2 v^2 - (1 + kp R o) v + supply = 0, the smaller root.
      const double b = 1.0 + kp * ohms * over;
      drain = 2.0 * supply / (b + std::sqrt(b * b - 2.0 * kp * ohms * supply));
    }
    HandNetwork hand(3);
    hand.voltage_source(1, 0, sign * supply);
    hand.resistor(1, 2, ohms);
    hand.mosfet(2, 1, 0, m);
    const Solution s = solved(hand);
    CHECK_THAT(sign * s.volts[2], WithinRel(drain, kNonlinear));
  }
  SECTION("a resistor at the source: the transistor follows its gate") {
    // o = head - R kp/2 o^2 with drain at the supply.
    const double head = supply - threshold;
    const double over = 2.0 * head / (1.0 + std::sqrt(1.0 + 2.0 * kp * ohms * head));
    HandNetwork hand(3);
    hand.voltage_source(1, 0, sign * supply);
    hand.mosfet(1, 1, 2, m);
    hand.resistor(2, 0, ohms);
    const Solution s = solved(hand);
    CHECK_THAT(sign * s.volts[2], WithinAbs(head - over, kNonlinear * supply));
  }
}

// The regulator's own equation (core/device/regulator.h) away from its bends is linear:
// held, head minus dropout, or limited. A bend of width w, d away, adds w^2 / (4 d).
TEST_CASE("a regulator in regulation, in dropout and at its limit",
          "[truth][closed-form]") {
  RegulatorModel m;
  m.output = 5.0;
  m.dropout = 2.0;
  m.limit = 1.0;
  m.resistance = 0.02;
  m.quiescent = 5e-3;
  struct Case {
    double in;
    double load;
  };
  const Case c = GENERATE(Case{12.0, 50.0}, Case{8.0, 1e3}, Case{6.0, 50.0},
                          Case{4.0, 100.0}, Case{12.0, 2.0}, Case{12.0, 0.01});
  CAPTURE(c.in, c.load);
  const double target = std::min(m.output, c.in - m.dropout);
  double amps = target / (c.load + m.resistance);
  const bool limits = amps > m.limit;
  if (limits)
    amps = (target + kRegulatorStiff * m.limit) /
           (c.load + m.resistance + kRegulatorStiff);

  HandNetwork hand(3);
  hand.voltage_source(1, 0, c.in);
  hand.regulator(1, 0, 2, m);
  hand.resistor(2, 0, c.load);
  const Solution s = solved(hand);
  const double from_knee = std::abs(c.in - m.dropout - m.output);
  const double bend = kRegulatorVoltageBend * kRegulatorVoltageBend / 4.0 *
                      (1.0 / from_knee + 1.0 / target);
  // The current's bends shift the voltage by `stiff` times as much. At the limit the
  // distance is what lies beyond it: target / stiff.
  const double beyond = limits ? amps - m.limit : std::min(amps, m.limit - amps);
  const double current_bend =
      kRegulatorCurrentBend * kRegulatorCurrentBend / 4.0 / std::abs(beyond);
  const double volts_off = 2.0 * bend + 2.0 * kRegulatorStiff * current_bend;
  const double amps_off = limits ? volts_off / kRegulatorStiff : volts_off / c.load;
  CAPTURE(amps, volts_off, s.volts[2]);
  CHECK_THAT(s.currents.resistors[0], WithinAbs(amps, amps_off + kNonlinear * amps));
  CHECK_THAT(s.volts[2],
             WithinAbs(amps * c.load, (amps_off + kNonlinear * amps) * c.load));
  // The quiescent current is all there from 3 V on: 1 - tanh(6) = 1.2e-5.
  REQUIRE(c.in >= 3.0);
  const double wake_off = 1.0 - std::tanh(c.in / kRegulatorWakeVolts);
  CHECK_THAT(-s.currents.voltage_sources[0],
             WithinAbs(amps + m.quiescent,
                       amps_off + kNonlinear * amps + m.quiescent * wake_off));
}

// Common practice, no source: an adjustable regulator holds `output` between out and
// adjust, so V = output (1 + R2/R1) + I_adjust R2.
TEST_CASE("an adjustable regulator and its divider", "[truth][closed-form]") {
  const double upper = GENERATE(120.0, 240.0);
  const double lower = GENERATE(390.0, 2.2e3);
  RegulatorModel m;
  m.output = 1.25;
  m.dropout = 2.0;
  m.limit = 1.5;
  m.quiescent = 50e-6;
  const double expected = m.output * (1.0 + lower / upper) + m.quiescent * lower;
  HandNetwork hand(4);  // 1 in, 2 out, 3 adjust
  hand.voltage_source(1, 0, 35.0);
  hand.regulator(1, 3, 2, m);
  hand.resistor(2, 3, upper);
  hand.resistor(3, 0, lower);
  const Solution s = solved(hand);
  // Bends: the target's, 1.25 V away, is 2e-7 V; the quiescent current's, 5 V or more,
  // under 5e-9 of it; both as the divider passes them on.
  const double off = 2e-7 * (1.0 + lower / upper) + 5e-9 * m.quiescent * lower;
  CAPTURE(upper, lower);
  CHECK_THAT(s.volts[2], WithinAbs(expected, 2.0 * off));
}

namespace {

/// A random network of resistors, 1 ohm to 1 Mohm: a tree that reaches every node from
/// ground, and as many more as there are nodes. Drawn only from seed and index.
HandNetwork random_resistors(std::uint32_t seed, std::uint32_t index) {
  std::seed_seq mixed{seed, index};
  std::mt19937_64 random(mixed);
  const int nodes = std::uniform_int_distribution<int>(3, 14)(random);
  std::uniform_real_distribution<double> decades(0.0, 6.0);
  HandNetwork hand(nodes);
  for (int n = 1; n < nodes; ++n) {
    const int earlier = std::uniform_int_distribution<int>(0, n - 1)(random);
    hand.resistor(earlier, n, std::pow(10.0, decades(random)));
  }
  std::uniform_int_distribution<int> any(0, nodes - 1);
  for (int n = 1; n < nodes; ++n) {
    const int a = any(random);
    const int b = any(random);
    if (a != b) hand.resistor(a, b, std::pow(10.0, decades(random)));
  }
  return hand;
}

Eigen::MatrixXd conductances(const HandNetwork& hand) {
  const int n = hand.structure.nets - 1;
  Eigen::MatrixXd g = Eigen::MatrixXd::Zero(n, n);
  for (std::size_t k = 0; k < hand.values.ohms.size(); ++k) {
    const int a = hand.structure.resistors[k].a - 1;
    const int b = hand.structure.resistors[k].b - 1;
    const double siemens = 1.0 / hand.values.ohms[k];
    if (a >= 0) g(a, a) += siemens;
    if (b >= 0) g(b, b) += siemens;
    if (a >= 0 && b >= 0) {
      g(a, b) -= siemens;
      g(b, a) -= siemens;
    }
  }
  return g;
}

double condition(const Eigen::MatrixXd& matrix) {
  const Eigen::VectorXd s = Eigen::JacobiSVD<Eigen::MatrixXd>(matrix).singularValues();
  return s(0) / s(s.size() - 1);
}

Eigen::VectorXd volts_of(const Solution& s) {
  return Eigen::Map<const Eigen::VectorXd>(
      s.volts.data() + 1, static_cast<Eigen::Index>(s.volts.size()) - 1);
}

constexpr std::uint32_t kSeed = 20240229;
constexpr std::uint32_t kNetworks = 300;

}  // namespace

// Bound: LU with pivoting is backward stable; an M-matrix (conductances) has a growth
// factor of at most 2: |dx| <= 3 n eps cond(A) |x| [N. Higham, "Accuracy and Stability
// of Numerical Algorithms", 2nd ed. 2002, sec. 9.3 (from memory)].
TEST_CASE("resistor networks: superposition and reciprocity", "[truth][closed-form]") {
  double worst = 0.0;
  for (std::uint32_t index = 0; index < kNetworks; ++index) {
    CAPTURE(kSeed, index);
    const HandNetwork passive = random_resistors(kSeed, index);
    const Eigen::MatrixXd g = conductances(passive);
    const auto n = static_cast<int>(g.rows());
    const double share = 3.0 * n * kEps * condition(g);

    std::vector<Eigen::VectorXd> by_one;  // Volts for 1 A into each node in turn.
    Eigen::VectorXd sum = Eigen::VectorXd::Zero(n);
    double sizes = 0.0;
    HandNetwork all = passive;
    for (int j = 1; j <= n; ++j) {
      HandNetwork one = passive;
      one.current_source(j, 0, 1.0);
      all.current_source(j, 0, 1.0 / j);
      by_one.push_back(volts_of(solved(one)));
      sum += by_one.back() / j;
      sizes += by_one.back().norm() / j;
    }
    const Eigen::VectorXd together = volts_of(solved(all));
    const double apart = (together - sum).norm();
    const double allowed = share * (sizes + together.norm());
    CHECK(apart <= allowed);
    worst = std::max(worst, apart / allowed);
    for (int j = 0; j < n; ++j) {
      for (int k = 0; k < j; ++k) {
        const double difference = std::abs(by_one[j](k) - by_one[k](j));
        CHECK(difference <= share * (by_one[j].norm() + by_one[k].norm()));
      }
    }
  }
  std::cout << "superposition on " << kNetworks << " networks, seed " << kSeed
            << ": worst " << worst << " of the bound\n";
}

// Another computation of the same voltages: Cholesky by Eigen, on a matrix put together
// here. The bound above, once for each of the two.
TEST_CASE("resistor networks: the voltages of a direct solution",
          "[truth][closed-form]") {
  for (std::uint32_t index = 0; index < kNetworks; ++index) {
    CAPTURE(kSeed, index);
    HandNetwork hand = random_resistors(kSeed, index);
    const Eigen::MatrixXd g = conductances(hand);
    Eigen::VectorXd into = Eigen::VectorXd::Zero(g.rows());
    for (int j = 1; j <= g.rows(); ++j) {
      into(j - 1) = 1e-3 * j;
      hand.current_source(j, 0, into(j - 1));
    }
    const Eigen::VectorXd direct = g.llt().solve(into);
    const Eigen::VectorXd found = volts_of(solved(hand));
    const double share = 3.0 * static_cast<double>(g.rows()) * kEps * condition(g);
    CHECK((found - direct).norm() <= 2.0 * share * direct.norm());
  }
}

}  // namespace benchproof
