// A diode behind a resistor has a closed form by the Lambert W function:
//
//   V = i R + n vt ln(1 + i / is)
//   i = n vt / R  W0(is R / (n vt) exp((V + is R) / (n vt))) - is
//
// Source (from memory): T. C. Banwell, A. Jayakumar, "Exact analytical solution for
// current flow through diode with series resistance", Electronics Letters 36(4), 2000,
// 291-292. W0 itself is Boost.Math's.

#include <algorithm>
#include <array>
#include <boost/math/special_functions/lambert_w.hpp>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <vector>

#include "core/device/constants.h"
#include "core/network/equations.h"
#include "core/nodal/nodal_solver.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/truth/hand_network.h"

namespace benchproof {
namespace {

using test::HandNetwork;

/// A source, a resistor and a diode with its own series resistance, in one loop.
struct Loop {
  double volts;
  double ohms;
  DiodeModel diode;
  double celsius;
};

Network network_of(const Loop& loop) {
  HandNetwork n(3);
  n.celsius = loop.celsius;
  n.voltage_source(1, 0, loop.volts);
  n.resistor(1, 2, loop.ohms);
  n.diode(2, 0, loop.diode);
  return n.network();
}

/// The loop's current. Both witnesses put kJunctionLeak (G) across the junction, which
/// at a picoampere is one part in ten thousand; source, resistance and G together are
/// a source V / (1 + G R) behind R / (1 + G R), so the closed form stays exact.
double closed_form(const Loop& loop) {
  const double nvt = loop.diode.n * thermal_voltage(loop.celsius);
  const double is = loop.diode.is;
  const double share = 1.0 + kJunctionLeak * (loop.ohms + loop.diode.rs);
  const double ohms = (loop.ohms + loop.diode.rs) / share;
  const double volts = loop.volts / share;
  const double w =
      boost::math::lambert_w0(is * ohms / nvt * std::exp((volts + is * ohms) / nvt));
  const double junction = nvt / ohms * w - is;
  return junction + kJunctionLeak * (volts - ohms * junction);
}

/// Thirteen currents, about 1 pA to 1 A, by the resistor before the diode; for several
/// voltages, saturation currents, emission coefficients, temperatures (tnom is set to
/// the temperature, so that `is` holds there) and series resistances.
///
/// The closed form's own rounding is far below the bounds: the exponent is at most 590,
/// so its argument is good to 590 eps = 1.3e-13, and W grows slower than its argument;
/// `is` is at most a tenth of the current that it is taken from.
std::vector<Loop> loops() {
  std::vector<Loop> all;
  for (const double volts : {3.0, 5.0, 12.0})
    for (const double is : {1e-18, 1e-15, 1e-13})
      for (const double n : {1.0, 1.35, 2.0})
        for (const double celsius : {-10.0, 25.0, 85.0})
          for (const double rs : {0.0, 0.6})
            for (int decade = -12; decade <= 0; ++decade) {
              DiodeModel d;
              d.is = is;
              d.n = n;
              d.rs = rs;
              d.tnom = celsius;
              all.push_back({volts, volts / std::pow(10.0, decade), d, celsius});
            }
  return all;
}

/// The worst of what a solution says of the one current, relative to `amps`.
double worst_error(const Solution& s, double amps) {
  const double by_resistor = std::abs(s.currents.resistors[0] - amps);
  const double by_diode = std::abs(s.currents.diodes[0] - amps);
  const double by_source = std::abs(-s.currents.voltage_sources[0] - amps);
  return std::max({by_resistor, by_diode, by_source}) / std::abs(amps);
}

/// A loop of a source, a resistor and an ideal junction, which hangs between two
/// supplies on two large resistances, one at either end of the resistor. `tail` joins
/// its lower end to the lower supply, `head` its upper end to the higher one.
struct HangingLoop {
  double supply = 0.0;
  double head = 0.0;   ///< Ohm.
  double tail = 0.0;   ///< Ohm.
  double volts = 0.0;  ///< Of the source in the loop.
  double ohms = 0.0;   ///< Of the resistor in the loop.
  DiodeModel ideal;
  double celsius = 25.0;
};

/// Nodes: 1 the supply, 2 and 3 the resistor's upper and lower end, 4 the source's
/// plus.
Network network_of(const HangingLoop& loop) {
  HandNetwork n(5);
  n.celsius = loop.celsius;
  n.voltage_source(1, 0, loop.supply);
  n.resistor(1, 2, loop.head);
  n.resistor(2, 3, loop.ohms);
  n.resistor(3, 0, loop.tail);
  n.voltage_source(4, 3, loop.volts);
  n.diode(4, 2, loop.ideal);
  return n.network();
}

/// The voltages of nodes 2 and 3 by algebra. Of the loop's resistor (R) the junction's
/// current i and what comes through `head` (j, the same through `tail`) flow together:
///
///   V = u + R (i + j)        u = n vt ln(1 + i / is)
///   supply = (head + tail) j + R (i + j)
///
/// so that R (i + j) = (R || (head + tail)) (i + supply / (head + tail)): a diode
/// behind a resistor once more. The argument of W0 is e to the hundred million, hence
/// numbers with room for that.
std::array<double, 2> closed_form(const HangingLoop& loop) {
  using Wide = boost::multiprecision::cpp_bin_float_100;
  const Wide nvt = Wide(loop.ideal.n) * Wide(thermal_voltage(loop.celsius));
  const Wide is = loop.ideal.is;
  const Wide far = Wide(loop.head) + Wide(loop.tail);
  const Wide ohms = 1 / (1 / Wide(loop.ohms) + 1 / far);
  const Wide volts = Wide(loop.volts) - ohms * Wide(loop.supply) / far;
  const Wide w =
      boost::math::lambert_w0(Wide(is * ohms / nvt * exp((volts + is * ohms) / nvt)));
  const Wide amps = nvt / ohms * w - is;
  const Wide across = ohms * (amps + Wide(loop.supply) / far);
  const Wide j = (Wide(loop.supply) - across) / far;
  return {static_cast<double>(Wide(loop.supply) - Wide(loop.head) * j),
          static_cast<double>(Wide(loop.tail) * j)};
}

}  // namespace

TEST_CASE("the closed form obeys the equation it solves", "[truth][lambert]") {
  // Put back into V = i R + n vt ln(1 + i / is): what is left is rounding, of 12 V.
  for (Loop loop : loops()) {
    const double share = 1.0 + kJunctionLeak * (loop.ohms + loop.diode.rs);
    const double i = closed_form(loop);
    const double junction_volts = loop.volts - i * (loop.ohms + loop.diode.rs);
    const double j = i - kJunctionLeak * junction_volts;
    const double nvt = loop.diode.n * thermal_voltage(loop.celsius);
    CAPTURE(loop.volts, loop.ohms, loop.diode.is, loop.diode.n, share, i);
    CHECK_THAT(nvt * std::log1p(j / loop.diode.is),
               Catch::WithinAbs(junction_volts, 1e-9));
  }
}

TEST_CASE("nodal: a diode behind a resistor, twelve decades of current",
          "[truth][lambert]") {
  double worst = 0.0;
  double least = 1.0;
  double most = 0.0;
  for (const Loop& loop : loops()) {
    const double amps = closed_form(loop);
    least = std::min(least, amps);
    most = std::max(most, amps);
    const Solution s = solve_nodal(network_of(loop));
    CAPTURE(loop.volts, loop.ohms, loop.diode.is, loop.diode.n, loop.diode.rs,
            loop.celsius, amps, s.reason);
    REQUIRE(s.status == SolveStatus::solved);
    const double error = worst_error(s, amps);
    CHECK(error <= 1e-9);
    worst = std::max(worst, error);
  }
  CHECK(most / least >= 1e12);
  std::cout << "nodal against Lambert W: worst " << worst << " of the current, "
            << least << " to " << most << " A\n";
}

TEST_CASE("nodal: a loop with an ideal junction that hangs on large resistances",
          "[truth][lambert]") {
  // An ideal junction of 50 mA conducts 2e5 S. What rounding makes of that at 20 V,
  // some 0.5 nA, goes round in the loop; let out of it, it moves the whole loop by tens
  // of microvolts. The bound is the solver's own 1e-9 of a volt.
  double worst = 0.0;
  for (int k = 0; k < 200; ++k) {
    HangingLoop loop;
    loop.supply = 12.0 + 0.1 * k;
    loop.head = 90e3 + 37.0 * k;
    loop.tail = 60e3 + 53.0 * k;
    loop.volts = 3.0 + 0.03 * k;
    loop.ohms = 68.0 + k;
    loop.ideal.n = 1e-5;
    loop.ideal.is = 1e-12;
    loop.ideal.tnom = loop.celsius;
    const Network network = network_of(loop);
    NodalSolver solver(network.structure);
    const Solution s = solver.operating_point(network);
    CAPTURE(k, s.reason);
    REQUIRE(s.status == SolveStatus::solved);
    const std::array<double, 2> exact = closed_form(loop);
    const Solution again = solver.operating_point(network, &s);
    REQUIRE(again.status == SolveStatus::solved);
    for (const Solution& told : {s, again}) {
      for (std::size_t node = 0; node < 2; ++node) {
        const double error = std::abs(told.volts[node + 2] - exact[node]);
        CHECK(error <= 1e-9);
        worst = std::max(worst, error);
      }
    }
    CHECK(residual(network, s).beyond_matrix == 0.0);
  }
  std::cout << "nodal: a hanging loop with an ideal junction: worst " << worst
            << " V\n";
}

TEST_CASE("engine: a diode behind a resistor", "[truth][lambert][engine]") {
  // Bound: the design's bound between witnesses, 1e-6 of the current, without the 1 nA
  // beside it. The engine gives a series resistance a node of its own; across 0.6 ohm
  // the rounding of 1 V is 4e-16 A, so with one only currents from 1 nA are asked for.
  constexpr double kLeastThroughSeries = 1e-9;
  EngineSession session;
  double worst = 0.0;
  int asked = 0;
  for (const Loop& loop : loops()) {
    const double amps = closed_form(loop);
    if (loop.diode.rs > 0.0 && amps < kLeastThroughSeries) continue;
    ++asked;
    const Solution s = solve_with_engine(session, network_of(loop));
    CAPTURE(loop.volts, loop.ohms, loop.diode.is, loop.diode.n, loop.diode.rs,
            loop.celsius, amps, s.reason);
    REQUIRE(s.status == SolveStatus::solved);
    const double error = worst_error(s, amps);
    CHECK(error <= 1e-6);
    worst = std::max(worst, error);
  }
  CHECK(asked >= 1500);
  std::cout << "engine against Lambert W: worst " << worst << " of the current in "
            << asked << " loops\n";
}

}  // namespace benchproof
