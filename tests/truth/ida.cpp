#include "tests/truth/ida.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <utility>

#include "core/device/regulator.h"
#include "core/network/edits.h"
#include "core/network/equations.h"
#include "tests/truth/ida_integrator.h"

namespace benchproof::test {
namespace {

/// Where things stand among the unknowns.
struct Places {
  explicit Places(const Structure& s)
      : sources(static_cast<int>(s.nodes.size()) - 1),
        inductors(sources + static_cast<int>(s.voltage_sources.size())),
        regulators(inductors + static_cast<int>(s.inductors.size())),
        charges(regulators + static_cast<int>(s.regulators.size())),
        flows(charges + static_cast<int>(s.capacitors.size())),
        size(flows + static_cast<int>(s.capacitors.size())) {}
  int sources;
  int inductors;
  int regulators;
  int charges;  ///< Voltages of capacitors.
  int flows;    ///< Currents of capacitors.
  int size;
};

struct Problem {
  const Timeline* timeline;
  Places at;
  std::vector<double> sum;
  std::vector<double> largest;
};

/// The current at which a regulator drops `volts` below its target. As an unknown that
/// drop is as good as the current, and its corners are of one scale: with the current,
/// whose slope changes by 1e6 within 1e-10 A, IDA's iteration, which keeps its matrix
/// from step to step, takes any value for an answer.
double passed(const RegulatorModel& m, double volts) {
  const double none = pass(m, 0.0, 0.0, 0.0).error;
  const auto excess = [&](double amps) {
    return pass(m, 0.0, 0.0, amps).error - none - volts;
  };
  const double most = 1.0 + std::abs(volts) / m.resistance;
  std::uintmax_t iterations = 200;
  const auto [low, high] = boost::math::tools::toms748_solve(
      excess, -most, most, boost::math::tools::eps_tolerance<double>(52), iterations);
  return 0.5 * (low + high);
}

void residual_of(Problem& p, double seconds, const double* y, const double* dy,
                 double* r) {
  const Network network = network_at(*p.timeline, seconds);
  const Structure& s = *network.structure;
  const Values& x = network.values;
  const Places& at = p.at;
  std::vector<double> v(s.nodes.size(), 0.0);
  std::copy(y, y + at.sources, v.begin() + 1);
  Currents branches;
  branches.voltage_sources.assign(y + at.sources, y + at.inductors);
  branches.inductors.assign(y + at.inductors, y + at.regulators);
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    branches.regulators.push_back(
        {0.0, 0.0, -passed(x.regulators[k], y[at.regulators + k])});
  }
  Currents currents = currents_at(network, v, branches);
  currents.capacitors.assign(y + at.flows, y + at.size);
  p.sum.assign(s.nodes.size(), 0.0);
  p.largest.assign(s.nodes.size(), 0.0);
  sum_at_nodes(s, currents, p.sum, p.largest);
  for (std::size_t node = 1; node < s.nodes.size(); ++node) {
    r[node - 1] = p.sum[node];
  }
  for (std::size_t k = 0; k < s.voltage_sources.size(); ++k) {
    const TwoEnds& e = s.voltage_sources[k];
    r[at.sources + k] = v[e.a] - v[e.b] - x.volts[k];
  }
  for (std::size_t k = 0; k < s.inductors.size(); ++k) {
    const TwoEnds& e = s.inductors[k];
    const double inside = v[e.a] - v[e.b] - x.coils[k].ohms * y[at.inductors + k];
    // v = v_L + R (i + G v_L), v_L = L di/dt.
    const double inductance = 1.0 + x.coils[k].ohms * x.coils[k].siemens;
    r[at.inductors + k] =
        inside - inductance * x.coils[k].henries * dy[at.inductors + k];
  }
  for (std::size_t k = 0; k < s.regulators.size(); ++k) {
    const auto [in, common, outlet] = s.regulators[k].ends;
    r[at.regulators + k] =
        pass(x.regulators[k], v[in] - v[common], v[outlet] - v[common], 0.0).error +
        y[at.regulators + k];
  }
  for (std::size_t k = 0; k < s.capacitors.size(); ++k) {
    const TwoEnds& e = s.capacitors[k];
    r[at.charges + k] = v[e.a] - v[e.b] - y[at.charges + k];
    r[at.flows + k] = x.farads[k] * dy[at.charges + k] - y[at.flows + k];
  }
}

}  // namespace

std::vector<std::vector<double>> solve_by_ida(const Timeline& timeline,
                                              const std::vector<double>& times,
                                              double relative, double absolute) {
  const Structure& s = *timeline.network.structure;
  Problem problem{&timeline, Places(s), {}, {}};
  const Places& at = problem.at;
  std::vector<bool> is_differential(at.size, false);
  for (int k = at.inductors; k < at.regulators; ++k) is_differential[k] = true;
  for (int k = at.charges; k < at.flows; ++k) is_differential[k] = true;
  IdaIntegrator ida([&](double seconds, const double* y, const double* rates,
                        double* out) { residual_of(problem, seconds, y, rates, out); },
                    is_differential, relative, absolute);

  std::vector<double> bounds{0.0};
  for (const double corner : corners_of(timeline)) bounds.push_back(corner);
  bounds.push_back(timeline.span);
  std::vector<std::vector<double>> rows;
  std::size_t next = 0;
  const auto keep = [&] {
    const double* v = ida.values();
    std::vector<double> row{0.0};
    row.insert(row.end(), v, v + at.sources);
    rows.push_back(std::move(row));
    ++next;
  };
  while (next < times.size() && times[next] == 0.0) keep();
  for (std::size_t k = 0; k + 1 < bounds.size(); ++k) {
    const double from = bounds[k];
    const double to = bounds[k + 1];
    ida.begin(from, to);
    ida.make_consistent(from + 1e-3 * (to - from));
    double reached = from;
    while (reached < to) {
      const bool is_asked = next < times.size() && times[next] < to;
      reached = ida.advance(is_asked ? times[next] : to);
      if (is_asked) {
        keep();
      } else {
        while (next < times.size() && times[next] == to) keep();
      }
    }
  }
  return rows;
}

}  // namespace benchproof::test
