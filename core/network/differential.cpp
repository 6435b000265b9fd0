#include "core/network/differential.h"

#include <array>
#include <cstddef>

namespace benchproof {
namespace {

/// Adds the current into a part at a pin, `times`.
void add_amps(Differential& sum, const Structure& s, int part, int pin, double times) {
  const auto stands_for = [&](const Origin& origin, int end) {
    return origin.part == part && origin.pins[end] == pin;
  };
  for (const auto& list : kTwoEnded) {
    const auto& elements = s.*list.elements;
    for (std::size_t k = 0; k < elements.size(); ++k) {
      const Origin& origin = elements[k].origin;
      double& by_amps = (sum.by_amps.*list.amps)[k];
      if (stands_for(origin, 0)) by_amps += times;
      if (stands_for(origin, 1)) by_amps -= times;
    }
  }
  for (const auto& list : kThreeEnded) {
    const auto& elements = s.*list.elements;
    for (std::size_t k = 0; k < elements.size(); ++k) {
      for (int end = 0; end < 3; ++end) {
        if (stands_for(elements[k].origin, end))
          (sum.by_amps.*list.amps)[k][end] += times;
      }
    }
  }
}

}  // namespace

Differential no_differential(const Structure& s) {
  Differential none;
  none.by_volts.assign(s.nodes.size(), 0.0);
  for (const auto& list : kTwoEnded)
    (none.by_amps.*list.amps).assign((s.*list.elements).size(), 0.0);
  for (const auto& list : kThreeEnded)
    (none.by_amps.*list.amps).assign((s.*list.elements).size(), {});
  return none;
}

Differential differential_of_volts(const Structure& s, int node) {
  Differential d = no_differential(s);
  d.by_volts[node] = 1.0;
  return d;
}

Differential differential_of_amps(const Structure& s, int part, int pin) {
  Differential d = no_differential(s);
  add_amps(d, s, part, pin, 1.0);
  return d;
}

Differential differential_of_watts(const Circuit& circuit, const Structure& s,
                                   const Observation& seen, int part) {
  Differential d = no_differential(s);
  const Part& of = circuit.parts[part];
  for (std::size_t pin = 0; pin < of.pins.size(); ++pin) {
    const int net = of.nets[pin];
    if (net < 0) continue;
    d.by_volts[net] += seen.pin_amps[part][pin];
    add_amps(d, s, part, static_cast<int>(pin), seen.net_volts[net]);
  }
  return d;
}

void add(Differential& sum, const Differential& other, double times) {
  for (std::size_t k = 0; k < sum.by_volts.size(); ++k)
    sum.by_volts[k] += times * other.by_volts[k];
  for (const auto& list : kTwoEnded) {
    auto& amps = sum.by_amps.*list.amps;
    for (std::size_t k = 0; k < amps.size(); ++k)
      amps[k] += times * (other.by_amps.*list.amps)[k];
  }
  for (const auto& list : kThreeEnded) {
    auto& amps = sum.by_amps.*list.amps;
    for (std::size_t k = 0; k < amps.size(); ++k) {
      for (int end = 0; end < 3; ++end)
        amps[k][end] += times * (other.by_amps.*list.amps)[k][end];
    }
  }
}

}  // namespace benchproof
