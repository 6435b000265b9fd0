#include "core/network/observation.h"

#include <cassert>
#include <cmath>
#include <cstddef>

namespace benchproof {

namespace {

/// Less than an electron in a minute; what the witnesses have of it is rounding.
constexpr double kNothing = 1e-21;

/// A figure, volt or ampere, or 0 where it is nothing.
double visible(double value) { return std::abs(value) < kNothing ? 0.0 : value; }

}  // namespace

void observe(const Circuit& circuit, const Network& network, const Solution& solution,
             Observation& seen) {
  const Structure& s = *network.structure;
  seen.net_volts.assign(solution.volts.begin(), solution.volts.begin() + s.nets);
  for (double& volts : seen.net_volts) volts = visible(volts);
  seen.pin_amps.resize(circuit.parts.size());
  seen.part_watts.resize(circuit.parts.size());
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    seen.pin_amps[k].assign(circuit.parts[k].pins.size(), 0.0);
  for_each_end(s, solution.currents,
               [&seen](int, const Origin& origin, int end, double amps) {
                 if (origin.part < 0 || origin.pins[end] < 0) return;
                 seen.pin_amps[origin.part][origin.pins[end]] += amps;
               });
  for (std::size_t k = 0; k < circuit.parts.size(); ++k)
    seen.part_watts[k] =
        settle_pins(circuit.parts[k], seen.net_volts, seen.pin_amps[k]);
}

double settle_pins(const Part& part, std::span<const double> volts,
                   std::vector<double>& pin_amps) {
  double watts = 0.0;
  for (std::size_t p = 0; p < part.pins.size(); ++p) {
    const int net = part.nets[p];
    pin_amps[p] = net < 0 ? 0.0 : visible(pin_amps[p]);
    if (net >= 0) watts += volts[static_cast<std::size_t>(net)] * pin_amps[p];
  }
  return visible(watts);
}

Observation observe(const Circuit& circuit, const Network& network,
                    const Solution& solution) {
  Observation seen;
  observe(circuit, network, solution, seen);
  return seen;
}

void average(const std::vector<Observation>& observations,
             const std::vector<double>& shares, Observation& mean) {
  assert(observations.size() == shares.size());
  // No figure is -0 (see visible), so that one observation is its own mean.
  if (shares.size() == 1 && shares.front() == 1.0) {
    mean = observations.front();
    return;
  }
  for (std::size_t k = 0; k < observations.size(); ++k) {
    const Observation& o = observations[k];
    const auto add = [share = shares[k], is_first = k == 0](
                         const std::vector<double>& more, std::vector<double>& sum) {
      sum.resize(more.size());
      for (std::size_t n = 0; n < more.size(); ++n)
        sum[n] = (is_first ? 0.0 : sum[n]) + share * more[n];
    };
    add(o.net_volts, mean.net_volts);
    add(o.part_watts, mean.part_watts);
    mean.pin_amps.resize(o.pin_amps.size());
    for (std::size_t p = 0; p < o.pin_amps.size(); ++p)
      add(o.pin_amps[p], mean.pin_amps[p]);
  }
}

Observation average(const std::vector<Observation>& observations,
                    const std::vector<double>& shares) {
  Observation mean;
  average(observations, shares, mean);
  return mean;
}

}  // namespace benchproof
