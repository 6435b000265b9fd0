#include "core/network/timeline.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "core/network/equations.h"

namespace benchproof {

double value_at(const Course& course, double seconds, bool by_ratio) {
  const std::vector<Corner>& corners = course.corners;
  assert(!corners.empty() && "a course has a corner");
  const auto after =
      std::upper_bound(corners.begin(), corners.end(), seconds,
                       [](double t, const Corner& c) { return t < c.seconds; });
  if (after == corners.begin()) return corners.front().value;
  if (after == corners.end()) return corners.back().value;
  const Corner& to = *after;
  const Corner& from = *(after - 1);
  const double share = (seconds - from.seconds) / (to.seconds - from.seconds);
  if (share == 0.0) return from.value;
  return by_ratio ? from.value * std::pow(to.value / from.value, share)
                  : from.value + share * (to.value - from.value);
}

Network network_at(const Timeline& timeline, double seconds) {
  Network network = timeline.network;
  for (const Course& c : timeline.volts)
    network.values.volts[c.element] = value_at(c, seconds, false);
  for (const Course& c : timeline.amps)
    network.values.amps[c.element] = value_at(c, seconds, false);
  for (const Course& c : timeline.ohms)
    network.values.ohms[c.element] = value_at(c, seconds, true);
  return network;
}

std::vector<double> corners_of(const Timeline& timeline) {
  std::vector<double> times;
  for (const auto* list : {&timeline.volts, &timeline.amps, &timeline.ohms}) {
    for (const Course& course : *list) {
      for (const Corner& corner : course.corners) {
        if (corner.seconds > 0.0 && corner.seconds < timeline.span)
          times.push_back(corner.seconds);
      }
    }
  }
  std::sort(times.begin(), times.end());
  times.erase(std::unique(times.begin(), times.end()), times.end());
  return times;
}

std::size_t row_width(const Structure& s) {
  return s.nodes.size() + s.capacitors.size() + s.inductors.size() +
         s.voltage_sources.size() + s.regulators.size();
}

Solution solution_at(const Timeline& timeline, const Waveform& waveform,
                     std::size_t point) {
  const Network network = network_at(timeline, waveform.seconds[point]);
  const Structure& s = *network.structure;
  assert(waveform.width == row_width(s) && "a waveform of the timeline's structure");
  const double* next = waveform.row(point);
  const auto take = [&next](std::size_t count) {
    std::vector<double> list(next, next + count);
    next += count;
    return list;
  };
  Solution solution;
  solution.status = SolveStatus::solved;
  solution.volts = take(s.nodes.size());
  Currents branches;
  const std::vector<double> capacitors = take(s.capacitors.size());
  branches.inductors = take(s.inductors.size());
  branches.voltage_sources = take(s.voltage_sources.size());
  for (const double out : take(s.regulators.size()))
    branches.regulators.push_back({0.0, 0.0, out});
  solution.currents = currents_at(network, solution.volts, branches);
  solution.currents.capacitors = capacitors;
  return solution;
}

}  // namespace benchproof
