#include "core/network/record.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "core/base/pages.h"
#include "core/network/detail/element_laws.h"
#include "core/network/edits.h"
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
  const std::vector<double>& v = trace.values;
  const auto after = std::upper_bound(t.begin(), t.end(), stretch.from);
  std::size_t k =
      after == t.begin() ? 0 : static_cast<std::size_t>(after - t.begin() - 1);
  for (; k + 1 < t.size() && t[k] < stretch.to; ++k) {
    const double from = std::max(t[k], stretch.from);
    const double to = std::min(t[k + 1], stretch.to);
    if (!(to > from)) continue;
    const auto at = [&](double seconds) {
      return v[k] + (seconds - t[k]) / (t[k + 1] - t[k]) * (v[k + 1] - v[k]);
    };
    piece(from, from == t[k] ? v[k] : at(from), to, to == t[k + 1] ? v[k + 1] : at(to));
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

namespace {

/// Points of a waveform side by side. The last one stands for those that a block at the
/// end lacks.
class PointBlock {
 public:
  PointBlock(const Timeline& timeline, const Waveform& waveform, std::size_t first)
      : s_(*timeline.network.structure) {
    const std::size_t last = waveform.seconds.size() - 1;
    columns_.resize(waveform.width);
    ohms_.resize(s_.resistors.size());
    for (std::size_t k = 0; k < ohms_.size(); ++k)
      ohms_[k].at.fill(timeline.network.values.ohms[k]);
    amps_.resize(s_.current_sources.size());
    for (std::size_t k = 0; k < amps_.size(); ++k)
      amps_[k].at.fill(timeline.network.values.amps[k]);
    for (std::size_t i = 0; i < Several::kCount; ++i) {
      const std::size_t point = std::min(first + i, last);
      const double* row = waveform.row(point);
      for (std::size_t c = 0; c < columns_.size(); ++c) columns_[c].at[i] = row[c];
      for (const Course& course : timeline.ohms)
        ohms_[course.element].at[i] = value_at(course, waveform.seconds[point], true);
      for (const Course& course : timeline.amps)
        amps_[course.element].at[i] = value_at(course, waveform.seconds[point], false);
    }
  }

  // In the order in which a row has them.
  [[nodiscard]] const Several& volts(int node) const { return columns_[node]; }
  [[nodiscard]] const Several& capacitor(std::size_t k) const {
    return columns_[s_.nodes.size() + k];
  }
  [[nodiscard]] const Several& inductance(std::size_t k) const {
    return capacitor(s_.capacitors.size() + k);
  }
  [[nodiscard]] const Several& source(std::size_t k) const {
    return inductance(s_.inductors.size() + k);
  }
  [[nodiscard]] Several passed(std::size_t k) const {
    return -source(s_.voltage_sources.size() + k);
  }
  [[nodiscard]] const Several& stray(std::size_t k) const {
    return source(s_.voltage_sources.size() + s_.regulators.size() + k);
  }
  [[nodiscard]] const Several& ohms(std::size_t k) const { return ohms_[k]; }
  [[nodiscard]] const Several& amps(std::size_t k) const { return amps_[k]; }

 private:
  const Structure& s_;
  std::vector<Several> columns_;
  std::vector<Several> ohms_;
  std::vector<Several> amps_;
};

/// The column that is nothing at every point.
constexpr std::size_t kEmptyColumn = 0;

/// For each part whether all its elements lie between its two pins, so that what flows
/// into it at the one flows out at the other.
std::vector<bool> passing_through(const Circuit& circuit, const Structure& s) {
  std::vector<bool> passing;
  for (const Part& part : circuit.parts)
    passing.push_back(part.nets.size() == 2 && part.nets[0] >= 0 && part.nets[1] >= 0);
  for (const auto& list : kTwoEnded)
    for (const TwoEnds& e : s.*list.elements)
      if (e.origin.part >= 0 && e.origin.pins[0] + e.origin.pins[1] != 1)
        passing[e.origin.part] = false;
  for (const auto& list : kThreeEnded)
    for (const ThreeEnds& e : s.*list.elements)
      if (e.origin.part >= 0) passing[e.origin.part] = false;
  return passing;
}

Trace without(Trace trace, std::span<const double> less) {
  for (std::size_t k = 0; k < less.size(); ++k) trace.values[k] -= less[k];
  return trace;
}

}  // namespace

Record::Record(const Circuit& circuit, const Timeline& timeline,
               const Waveform& waveform)
    : seconds_(waveform.seconds) {
  assert(waveform.status == SolveStatus::solved && "a waveform to record");
  assert(waveform.width == row_width(*timeline.network.structure) &&
         "a waveform of the timeline's structure");
  const Structure& s = *timeline.network.structure;
  lay_out(circuit, passing_through(circuit, s), s.strays);
  const ElementLaws laws(softened(timeline.network, waveform.least_emission));
  for (std::size_t first = 0; first < seconds_.size(); first += Several::kCount) {
    const std::size_t count = std::min(Several::kCount, seconds_.size() - first);
    const PointBlock block(timeline, waveform, first);
    clear(first, count);
    for (int net = 0; net < static_cast<int>(circuit.nets.size()); ++net)
      std::copy_n(block.volts(net).at.data(), count, column(net_column(net)) + first);
    look_at_block(s, currents_by<Several>(s, laws, block), first, count);
  }
}

Record::Record(const Circuit& circuit, std::vector<double> seconds,
               const std::vector<Observation>& seen)
    : seconds_(std::move(seconds)) {
  assert(seen.size() == seconds_.size() && "an observation for each time");
  lay_out(circuit, std::vector<bool>(circuit.parts.size()), {});
  clear(0, seconds_.size());
  for (std::size_t at = 0; at < seen.size(); ++at) {
    for (int net = 0; net < static_cast<int>(circuit.nets.size()); ++net)
      column(net_column(net))[at] = seen[at].net_volts[net];
    for (std::size_t part = 0; part < circuit.parts.size(); ++part) {
      for (std::size_t pin = 0; pin < circuit.parts[part].pins.size(); ++pin) {
        const std::size_t here = pin_columns_[first_pin_[part] + pin];
        if (here != kEmptyColumn) column(here)[at] = seen[at].pin_amps[part][pin];
      }
    }
  }
}

void Record::lay_out(const Circuit& circuit, const std::vector<bool>& passing,
                     const std::vector<TwoEnds>& strays) {
  columns_ = net_column(static_cast<int>(circuit.nets.size()));
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    first_pin_.push_back(pin_nets_.size());
    pin_nets_.insert(pin_nets_.end(), part.nets.begin(), part.nets.end());
    for (std::size_t pin = 0; pin < part.nets.size(); ++pin) {
      is_turned_.push_back(pin == 1 && passing[k]);
      if (is_turned_.back())
        pin_columns_.push_back(pin_columns_.back());
      else
        pin_columns_.push_back(part.nets[pin] < 0 ? kEmptyColumn : columns_++);
    }
  }
  stray_columns_.resize(pin_nets_.size(), kEmptyColumn);
  for (const TwoEnds& stray : strays) {
    for (const int pin : {stray.origin.pins[0], stray.origin.pins[1]}) {
      if (stray.origin.part < 0 || pin < 0) continue;
      const std::size_t here = pin_of(stray.origin.part, pin);
      if (pin_nets_[here] >= 0 && !is_turned_[here] &&
          stray_columns_[here] == kEmptyColumn)
        stray_columns_[here] = columns_++;
    }
  }
  for (std::size_t pin = 0; pin < is_turned_.size(); ++pin)
    if (is_turned_[pin]) stray_columns_[pin] = stray_columns_[pin - 1];
  figures_ = room_at_once(columns_ * seconds_.size());
}

/// Begins every column with 0 at some points.
void Record::clear(std::size_t first, std::size_t count) {
  for (std::size_t k = 0; k < columns_; ++k) std::fill_n(column(k) + first, count, 0.0);
}

/// Adds the elements' currents up, at pins and at nodes.
void Record::look_at_block(const Structure& s, const CurrentsOf<Several>& currents,
                           std::size_t first, std::size_t count) {
  std::vector<Several> sum(s.nodes.size(), Several{});
  std::vector<Several> largest(s.nodes.size(), Several{});
  for_each_end(s, currents,
               [&](int node, const Origin& origin, int end, const Several& amps) {
                 double* all = sum[node].at.data();
                 double* most = largest[node].at.data();
                 for (std::size_t i = 0; i < Several::kCount; ++i) {
                   all[i] += amps.at[i];
                   most[i] = std::max(most[i], std::abs(amps.at[i]));
                 }
                 if (origin.part < 0 || origin.pins[end] < 0) return;
                 const std::size_t at = pin_of(origin.part, origin.pins[end]);
                 const std::size_t here = pin_columns_[at];
                 if (here == kEmptyColumn || is_turned_[at]) return;
                 double* pin = column(here) + first;
                 for (std::size_t i = 0; i < count; ++i) pin[i] += amps.at[i];
               });
  for (std::size_t k = 0; k < s.strays.size(); ++k) {
    const Origin& origin = s.strays[k].origin;
    for (int end = 0; end < 2 && origin.part >= 0; ++end) {
      if (origin.pins[end] < 0) continue;
      const std::size_t at = pin_of(origin.part, origin.pins[end]);
      const std::size_t here = stray_columns_[at];
      if (here == kEmptyColumn || is_turned_[at]) continue;
      const double sign = end == 0 ? 1.0 : -1.0;
      double* pin = column(here) + first;
      for (std::size_t i = 0; i < count; ++i) pin[i] += sign * currents.strays[k].at[i];
    }
  }
  for (std::size_t node = 1; node < s.nodes.size(); ++node) {
    for (std::size_t i = 0; i < count; ++i) {
      const double amps = sum[node].at[i];
      const double allowed = kResidualAmps + kResidualShare * largest[node].at[i];
      const double worst = std::abs(amps) / allowed;
      if (worst > imbalance_.worst)
        imbalance_ = {worst, amps, static_cast<int>(node), seconds_[first + i]};
    }
  }
}

Trace Record::trace(std::size_t k) const {
  const std::span<const double> values = column(k);
  return {&seconds_, {values.begin(), values.end()}};
}

Trace Record::volts(int net) const { return trace(net_column(net)); }

Trace Record::volts(const Part& part, int pin, int other) const {
  const int a = part.nets[pin];
  const int b = part.nets[other];
  if (a < 0 || b < 0) return volts(-1);
  return without(volts(a), column(net_column(b)));
}

Trace Record::amps(int part, int pin) const {
  const std::size_t here = pin_of(part, pin);
  const std::size_t k = pin_columns_[here];
  return is_turned_[here] ? without(trace(kEmptyColumn), column(k)) : trace(k);
}

Trace Record::conducted(int part, int pin) const {
  const std::size_t here = pin_of(part, pin);
  const std::size_t strays = stray_columns_[here];
  if (strays == kEmptyColumn) return amps(part, pin);
  if (!is_turned_[here]) return without(amps(part, pin), column(strays));
  return without(trace(strays), column(pin_columns_[here]));
}

Trace Record::watts(int part) const {
  Trace t = trace(kEmptyColumn);
  const std::size_t end = static_cast<std::size_t>(part) + 1 < first_pin_.size()
                              ? first_pin_[part + 1]
                              : pin_nets_.size();
  for (std::size_t pin = first_pin_[part]; pin < end; ++pin) {
    if (pin_nets_[pin] < 0) continue;
    const std::span<const double> volts = column(net_column(pin_nets_[pin]));
    const std::span<const double> amps = column(pin_columns_[pin]);
    const double sign = is_turned_[pin] ? -1.0 : 1.0;
    for (std::size_t k = 0; k < volts.size(); ++k)
      t.values[k] += volts[k] * sign * amps[k];
  }
  return t;
}

}  // namespace benchproof
