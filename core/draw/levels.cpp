#include "core/draw/levels.h"

#include <cstddef>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// The voltage of a source as described, as its plus pin stands above its minus pin.
double source_volts(const Part& part) {
  return number_of(part, "voltage").value_or(1.0);
}

/// The net that a source holds, against its other one: plus, where minus is not yet
/// known to be higher.
void hold_sources(const Circuit& circuit, std::vector<double>& levels,
                  std::vector<bool>& is_held) {
  // A source on a held net holds its other net: as often as sources may be in a row.
  for (std::size_t pass = 0; pass < circuit.parts.size(); ++pass) {
    bool is_news = false;
    for (const Part& part : circuit.parts) {
      if (!is_source(part.kind) || part.kind == KindId::current_source) continue;
      const int plus = part.nets[0];
      const int minus = part.nets[1];
      if (plus < 0 || minus < 0 || is_held[plus] == is_held[minus]) continue;
      if (is_held[minus])
        levels[plus] = levels[minus] + source_volts(part);
      else
        levels[minus] = levels[plus] - source_volts(part);
      is_held[plus] = is_held[minus] = true;
      is_news = true;
    }
    if (!is_news) return;
  }
}

/// Each net that is not held becomes the mean of what its parts join it to.
std::vector<double> guessed_levels(const Circuit& circuit) {
  const std::size_t count = circuit.nets.size();
  std::vector<double> levels(count, 0.0);
  std::vector<bool> is_held(count, false);
  for (std::size_t net = 0; net < count; ++net)
    is_held[net] = is_zero(circuit, static_cast<int>(net));
  hold_sources(circuit, levels, is_held);
  constexpr int kSweeps = 200;  // It is for an order only.
  for (int sweep = 0; sweep < kSweeps; ++sweep) {
    for (std::size_t net = 0; net < count; ++net) {
      if (is_held[net]) continue;
      double sum = 0.0;
      int neighbours = 0;
      for (const PinRef& ref : circuit.nets[net].pins)
        for (const int other : circuit.parts[ref.part].nets) {
          if (other < 0 || other == static_cast<int>(net)) continue;
          sum += levels[other];
          ++neighbours;
        }
      if (neighbours > 0) levels[net] = sum / neighbours;
    }
  }
  return levels;
}

}  // namespace

std::vector<double> net_levels(const Circuit& circuit,
                               const Verification& verification) {
  std::vector<double> sums(circuit.nets.size(), 0.0);
  int count = 0;
  for (const StateResult& state : verification.states) {
    if (!state.agrees || state.nodal.net_volts.size() != sums.size()) continue;
    for (std::size_t net = 0; net < sums.size(); ++net)
      sums[net] += state.nodal.net_volts[net];
    ++count;
  }
  if (count == 0) return guessed_levels(circuit);
  for (double& sum : sums) sum /= count;
  return sums;
}

}  // namespace benchproof
