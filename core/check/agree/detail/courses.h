#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include "core/check/agree/run_agreement.h"
#include "core/network/timeline.h"

/// What comparing the courses of two witnesses needs, of voltages and of currents.
namespace benchproof {

/// How far a value is from another course within `shift` of a time; `at(k)` is that
/// course's value at its k-th time.
template <typename Function>
double distance_to(double value, double seconds, double shift,
                   const std::vector<double>& times, Function&& at) {
  const auto value_at = [&](double when) {
    const auto after = std::lower_bound(times.begin(), times.end(), when);
    if (after == times.begin()) return at(std::size_t{0});
    if (after == times.end()) return at(times.size() - 1);
    const auto k = static_cast<std::size_t>(after - times.begin());
    const double share = (when - times[k - 1]) / (times[k] - times[k - 1]);
    return std::lerp(at(k - 1), at(k), share);
  };
  const double first = value_at(seconds - shift);
  const double last = value_at(seconds + shift);
  double low = std::min(first, last);
  double high = std::max(first, last);
  auto k = static_cast<std::size_t>(
      std::lower_bound(times.begin(), times.end(), seconds - shift) - times.begin());
  for (; k < times.size() && times[k] <= seconds + shift; ++k) {
    if (low <= value && value <= high) return 0.0;
    low = std::min(low, at(k));
    high = std::max(high, at(k));
  }
  return std::abs(value - std::clamp(value, low, high));
}

/// Whether a time is within a flank.
class Flanks {
 public:
  explicit Flanks(const Timeline& timeline)
      : corners_(corners_of(timeline)),
        before_(kWaveShift * timeline.span),
        after_(before_ + kSwitchSeconds) {}

  [[nodiscard]] bool has(double seconds) const {
    const auto next =
        std::lower_bound(corners_.begin(), corners_.end(), seconds - after_);
    return next != corners_.end() && *next <= seconds + before_;
  }

 private:
  std::vector<double> corners_;
  double before_ = 0.0;
  double after_ = 0.0;
};

}  // namespace benchproof
