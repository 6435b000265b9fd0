#include <algorithm>
#include <cmath>
#include <utility>

#include "core/check/agree/detail/courses.h"

namespace benchproof {
namespace {

/// A voltage between two nodes that moves, and what it may differ by.
struct Mover {
  int a = 0;
  int b = 0;
  double allowed = 0.0;  ///< Volt.

  [[nodiscard]] double at(const double* row) const { return row[a] - row[b]; }
};

/// What a course between two nodes swings by. Volt.
double swing_of(const Waveform& nodal, int a, int b) {
  const Mover between{a, b};
  double low = HUGE_VAL;
  double high = -HUGE_VAL;
  for (std::size_t k = 0; k < nodal.seconds.size(); ++k) {
    low = std::min(low, between.at(nodal.row(k)));
    high = std::max(high, between.at(nodal.row(k)));
  }
  return high - low;
}

Mover mover(const Waveform& nodal, int a, int b) {
  return {a, b, kWaveVolts + kWaveShare * swing_of(nodal, a, b)};
}

/// What can move slowly of itself: voltages of capacitors and of sources.
std::vector<Mover> slow_movers(const Structure& s, const Waveform& nodal) {
  std::vector<Mover> movers;
  for (const auto* list : {&s.capacitors, &s.voltage_sources})
    for (const TwoEnds& e : *list) movers.push_back(mover(nodal, e.a, e.b));
  return movers;
}

/// For how long before a point nothing that moves slowly has moved by what it may
/// differ by; infinite if nothing has within `longest`. Second.
double standing_for(const std::vector<Mover>& movers, const Waveform& nodal,
                    std::size_t point, double longest) {
  double least = HUGE_VAL;
  for (const Mover& m : movers) {
    const double here = m.at(nodal.row(point));
    const double earliest = nodal.seconds[point] - longest;
    for (std::size_t k = point; k-- > 0 && nodal.seconds[k + 1] > earliest;) {
      const double off = std::abs(m.at(nodal.row(k)) - here);
      if (off < m.allowed) continue;
      const double next = std::abs(m.at(nodal.row(k + 1)) - here);
      const double share = (m.allowed - next) / (off - next);
      const double since = std::lerp(nodal.seconds[k + 1], nodal.seconds[k], share);
      least = std::min(least, nodal.seconds[point] - since);
      break;
    }
  }
  return least;
}

/// A stretch of points, the first and the last.
using Points = std::pair<std::size_t, std::size_t>;

/// Where any net moves by a good part of its swing within `soon`: stretches that touch
/// are one.
std::vector<Points> jumps(const Waveform& nodal, std::size_t nets, double soon) {
  constexpr double kGoodPart = 0.1;
  std::vector<double> least(nets, 0.0);
  for (std::size_t net = 1; net < nets; ++net) {
    const double swing = swing_of(nodal, static_cast<int>(net), 0);
    least[net] = std::max(kGoodPart * swing, 10.0 * (kWaveVolts + kWaveShare * swing));
  }
  std::vector<Points> found;
  std::size_t first = 0;
  for (std::size_t k = 1; k < nodal.seconds.size(); ++k) {
    while (first + 1 < k && nodal.seconds[first] < nodal.seconds[k] - soon) ++first;
    if (nodal.seconds[k] - nodal.seconds[first] > soon) continue;
    const double* before = nodal.row(first);
    const double* here = nodal.row(k);
    bool has_jumped = false;
    for (std::size_t net = 1; net < nets && !has_jumped; ++net)
      has_jumped = std::abs(here[net] - before[net]) > least[net];
    if (!has_jumped) continue;
    if (!found.empty() && first <= found.back().second)
      found.back().second = k;
    else
      found.push_back({first, k});
  }
  return found;
}

}  // namespace

Flips::Flips(const Timeline& timeline, const Waveform& nodal)
    : usual_(kWaveShift * timeline.span), flanks_(timeline) {
  // One that takes longer is no flip: it rings, or settles slowly.
  const double longest = 10.0 * usual_;
  const double most = kWaveTimeShare * timeline.span;
  const Structure& s = *timeline.network.structure;
  std::vector<Mover> movers;
  for (const auto& [first, last] :
       jumps(nodal, static_cast<std::size_t>(s.nets), usual_)) {
    const double from = nodal.seconds[first];
    const double to = nodal.seconds[last];
    if (to - from > longest || flanks_.has(from) || flanks_.has(to)) continue;
    if (movers.empty()) movers = slow_movers(s, nodal);
    const double stood = standing_for(movers, nodal, first, 10.0 * most);
    // What nothing moves towards is no threshold that is passed.
    const double shift = std::isfinite(stood) ? std::min(stood, most) : 0.0;
    flips_.push_back({from, to, std::max(shift, usual_)});
  }
}

}  // namespace benchproof
