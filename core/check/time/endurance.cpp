#include "core/check/time/endurance.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "core/check/rest/limits.h"

namespace benchproof {
namespace {

/// The area under a trace (or its square) from its first point to each point. The trace
/// was at `before` ahead of its first point.
class Area {
 public:
  Area(const Trace& trace, bool squared, double before)
      : seconds_(*trace.seconds), trace_(trace), squared_(squared) {
    before_ = squared ? before * before : before;
    sums_.assign(seconds_.size(), 0.0);
    for (std::size_t k = 1; k < seconds_.size(); ++k)
      sums_[k] = sums_[k - 1] + piece(k - 1, seconds_[k] - seconds_[k - 1]);
  }

  /// The highest mean over a stretch of a length. It begins or ends at a point.
  [[nodiscard]] double highest_mean(double length) const {
    double most = 0.0;
    std::size_t after_end = 0;  // Both ends move on with k.
    std::size_t after_start = 0;
    for (std::size_t k = 0; k < seconds_.size(); ++k) {
      const double start = seconds_[k] - length;
      most = std::max(most, sums_[k] - up_to(start, after_start));
      const double end = std::min(seconds_[k] + length, seconds_.back());
      most = std::max(most, up_to(end, after_end) - sums_[k]);
    }
    return most / length;
  }

 private:
  /// The area of the beginning of the piece after point k.
  [[nodiscard]] double piece(std::size_t k, double length) const {
    const double whole = seconds_[k + 1] - seconds_[k];
    const double a = trace_.values[k];
    const double b = a + (trace_.values[k + 1] - a) * length / whole;
    return squared_ ? length * (a * a + a * b + b * b) / 3.0 : length * 0.5 * (a + b);
  }

  /// The area up to a time not after the last point. `after`: the first point that is
  /// not before it, sought from the last call's.
  [[nodiscard]] double up_to(double seconds, std::size_t& after) const {
    if (seconds <= seconds_.front()) return before_ * (seconds - seconds_.front());
    while (seconds_[after] < seconds) ++after;
    return sums_[after - 1] + piece(after - 1, seconds - seconds_[after - 1]);
  }

  const std::vector<double>& seconds_;
  const Trace& trace_;
  bool squared_ = false;
  double before_ = 0.0;
  std::vector<double> sums_;
};

}  // namespace

std::optional<Strain> worst_strain(const Trace& trace, double limit,
                                   const Endurance& endurance, double before) {
  constexpr double kStep = 1.18920711500272107;  // The fourth root of two.
  // No mean is above what the trace reaches.
  double most = before;
  for (const double value : trace.values)
    most = std::max(most, endurance.by_rms ? std::abs(value) : value);
  if (!exceeds(most, endurance.from * limit)) return std::nullopt;
  const Area area(trace, endurance.by_rms, before);
  const double longest =
      std::min(std::max(endurance.curve.back().seconds, endurance.least_seconds),
               endurance.most_seconds);
  std::optional<Strain> worst;
  for (double seconds = longest; seconds > endurance.least_seconds / kStep;
       seconds /= kStep) {
    const double length = std::max(seconds, endurance.least_seconds);
    const double mean = area.highest_mean(length);
    const Strain here{length, endurance.by_rms ? std::sqrt(mean) : mean,
                      limit * endurance.curve.at(length)};
    if (!exceeds(here.mean, endurance.from * limit)) continue;
    if (!worst || here.share() > worst->share()) worst = here;
  }
  return worst;
}

}  // namespace benchproof
