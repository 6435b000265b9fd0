#include "core/network/record.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "core/network/equations.h"
#include "core/network/observation.h"

namespace benchproof {
namespace {

/// Where the straight line between points k and k + 1 has a value.
double between(const Trace& trace, std::size_t k, double level) {
  const double t0 = (*trace.seconds)[k];
  const double t1 = (*trace.seconds)[k + 1];
  const double v0 = trace.values[k];
  const double v1 = trace.values[k + 1];
  return t0 + (t1 - t0) * (level - v0) / (v1 - v0);
}

/// Calls `piece(t0, v0, t1, v1)` for each straight piece of a trace in a stretch.
template <typename Function>
void for_pieces(const Trace& trace, const Stretch& stretch, Function&& piece) {
  const std::vector<double>& t = *trace.seconds;
  for (std::size_t k = 0; k + 1 < t.size(); ++k) {
    const double from = std::max(t[k], stretch.from);
    const double to = std::min(t[k + 1], stretch.to);
    if (!(to > from)) continue;
    const auto at = [&](double seconds) {
      const double share = (seconds - t[k]) / (t[k + 1] - t[k]);
      return trace.values[k] + share * (trace.values[k + 1] - trace.values[k]);
    };
    piece(from, at(from), to, at(to));
  }
}

}  // namespace

double value_at(const Trace& trace, double seconds) {
  const std::vector<double>& t = *trace.seconds;
  const auto after = std::lower_bound(t.begin(), t.end(), seconds);
  if (after == t.begin()) return trace.values.front();
  if (after == t.end()) return trace.values.back();
  const auto k = static_cast<std::size_t>(after - t.begin());
  if (*after == seconds) return trace.values[k];
  const double share = (seconds - t[k - 1]) / (t[k] - t[k - 1]);
  return trace.values[k - 1] + share * (trace.values[k] - trace.values[k - 1]);
}

std::vector<double> crossings(const Trace& trace, double level, bool rising) {
  std::vector<double> times;
  const auto is_far = [&](double value) {
    return rising ? value >= level : value <= level;
  };
  for (std::size_t k = 0; k + 1 < trace.values.size(); ++k) {
    if (!is_far(trace.values[k]) && is_far(trace.values[k + 1])) {
      times.push_back(between(trace, k, level));
    }
  }
  return times;
}

Extremes extremes(const Trace& trace, const Stretch& stretch) {
  Extremes e;
  e.highest_at = e.lowest_at = stretch.from;
  e.highest = e.lowest = value_at(trace, stretch.from);
  const auto look = [&e](double value) {
    e.highest = std::max(e.highest, value);
    e.lowest = std::min(e.lowest, value);
  };
  double area = 0.0;
  double squares = 0.0;
  for_pieces(trace, stretch, [&](double t0, double v0, double t1, double v1) {
    look(v0);
    look(v1);
    area += (t1 - t0) * 0.5 * (v0 + v1);
    squares += (t1 - t0) * (v0 * v0 + v0 * v1 + v1 * v1) / 3.0;
  });
  // Of peaks that are the same but for rounding the first is told.
  const double close = 1e-6 * (e.highest - e.lowest);
  bool is_high = false;
  bool is_low = false;
  const auto first = [&](double seconds, double value) {
    if (!is_high && value >= e.highest - close) {
      is_high = true;
      e.highest_at = seconds;
    }
    if (!is_low && value <= e.lowest + close) {
      is_low = true;
      e.lowest_at = seconds;
    }
  };
  for_pieces(trace, stretch, [&](double t0, double v0, double t1, double v1) {
    first(t0, v0);
    first(t1, v1);
  });
  e.mean = stretch.length() > 0.0 ? area / stretch.length() : e.highest;
  e.rms = stretch.length() > 0.0 ? std::sqrt(std::max(0.0, squares / stretch.length()))
                                 : std::abs(e.highest);
  return e;
}

std::vector<Stretch> beyond(const Trace& trace, double level, bool above,
                            const Stretch& within) {
  std::vector<Stretch> stretches;
  const double sign = above ? 1.0 : -1.0;
  for_pieces(trace, within, [&](double t0, double v0, double t1, double v1) {
    const double e0 = sign * (v0 - level);
    const double e1 = sign * (v1 - level);
    if (e0 <= 0.0 && e1 <= 0.0) return;
    const double cross = t0 + (t1 - t0) * e0 / (e0 - e1);
    const double from = e0 > 0.0 ? t0 : cross;
    const double to = e1 > 0.0 ? t1 : cross;
    if (!stretches.empty() && stretches.back().to == from) {
      stretches.back().to = to;
    } else {
      stretches.push_back({from, to});
    }
  });
  return stretches;
}

Record::Record(const Circuit& circuit, const Timeline& timeline,
               const Waveform& waveform)
    : seconds_(waveform.seconds) {
  assert(waveform.status == SolveStatus::solved && "a waveform to record");
  width_ = circuit.nets.size();
  for (const Part& part : circuit.parts) {
    first_pin_.push_back(width_);
    width_ += part.pins.size();
  }
  first_watts_ = width_;
  width_ += circuit.parts.size();
  values_.reserve(width_ * seconds_.size());
  const Structure& structure = *timeline.network.structure;
  std::vector<double> sum(structure.nodes.size());
  std::vector<double> largest(structure.nodes.size());
  for_points(timeline, waveform, [&](std::size_t point, const Solution& solution) {
    std::fill(sum.begin(), sum.end(), 0.0);
    std::fill(largest.begin(), largest.end(), 0.0);
    sum_at_nodes(structure, solution.currents, sum, largest);
    for (std::size_t node = 1; node < sum.size(); ++node) {
      const double allowed = kResidualAmps + kResidualShare * largest[node];
      const double worst = std::abs(sum[node]) / allowed;
      if (worst > imbalance_.worst)
        imbalance_ = {worst, sum[node], static_cast<int>(node), seconds_[point]};
    }
    const Observation seen = observe(circuit, timeline.network, solution);
    values_.insert(values_.end(), seen.net_volts.begin(), seen.net_volts.end());
    for (const auto& pins : seen.pin_amps)
      values_.insert(values_.end(), pins.begin(), pins.end());
    values_.insert(values_.end(), seen.part_watts.begin(), seen.part_watts.end());
  });
}

template <typename Function>
Trace Record::trace(Function&& value) const {
  Trace t{&seconds_, {}};
  t.values.reserve(seconds_.size());
  for (std::size_t point = 0; point < seconds_.size(); ++point)
    t.values.push_back(value(row(point)));
  return t;
}

Trace Record::volts(int net) const {
  return trace([net](const double* row) { return net < 0 ? 0.0 : row[net]; });
}

Trace Record::volts(const Part& part, int pin, int other) const {
  const int a = part.nets[pin];
  const int b = part.nets[other];
  return trace(
      [a, b](const double* row) { return a < 0 || b < 0 ? 0.0 : row[a] - row[b]; });
}

Trace Record::amps(int part, int pin) const {
  const std::size_t column = first_pin_[part] + static_cast<std::size_t>(pin);
  return trace([column](const double* row) { return row[column]; });
}

Trace Record::watts(int part) const {
  const std::size_t column = first_watts_ + static_cast<std::size_t>(part);
  return trace([column](const double* row) { return row[column]; });
}

}  // namespace benchproof
