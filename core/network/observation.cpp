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

Observation observe(const Circuit& circuit, const Network& network,
                    const Solution& solution) {
  const Structure& s = *network.structure;
  Observation seen;
  seen.net_volts.assign(solution.volts.begin(), solution.volts.begin() + s.nets);
  for (double& volts : seen.net_volts) volts = visible(volts);
  seen.pin_amps.reserve(circuit.parts.size());
  seen.part_watts.reserve(circuit.parts.size());
  for (const Part& part : circuit.parts)
    seen.pin_amps.emplace_back(part.pins.size(), 0.0);
  for_each_end(s, solution.currents,
               [&seen](int, const Origin& origin, int end, double amps) {
                 if (origin.part < 0 || origin.pins[end] < 0) return;
                 seen.pin_amps[origin.part][origin.pins[end]] += amps;
               });
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    double watts = 0.0;
    for (std::size_t p = 0; p < part.pins.size(); ++p) {
      const int net = part.nets[p];
      if (net < 0) {
        seen.pin_amps[k][p] = 0.0;
        continue;
      }
      seen.pin_amps[k][p] = visible(seen.pin_amps[k][p]);
      watts += seen.net_volts[net] * seen.pin_amps[k][p];
    }
    seen.part_watts.push_back(visible(watts));
  }
  return seen;
}

Observation average(const std::vector<Observation>& observations,
                    const std::vector<double>& shares) {
  assert(observations.size() == shares.size());
  Observation mean;
  for (std::size_t k = 0; k < observations.size(); ++k) {
    const Observation& o = observations[k];
    mean.net_volts.resize(o.net_volts.size());
    mean.part_watts.resize(o.part_watts.size());
    mean.pin_amps.resize(o.pin_amps.size());
    for (std::size_t n = 0; n < o.net_volts.size(); ++n) {
      mean.net_volts[n] += shares[k] * o.net_volts[n];
    }
    for (std::size_t p = 0; p < o.part_watts.size(); ++p) {
      mean.part_watts[p] += shares[k] * o.part_watts[p];
      mean.pin_amps[p].resize(o.pin_amps[p].size());
      for (std::size_t q = 0; q < o.pin_amps[p].size(); ++q) {
        mean.pin_amps[p][q] += shares[k] * o.pin_amps[p][q];
      }
    }
  }
  return mean;
}

}  // namespace benchproof
