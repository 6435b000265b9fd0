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

/// Where a circuit flips by itself: nets move by a good part of their swing in next to
/// no time, and no switch, step or PWM is near. When it does so is told by what moves
/// slowly towards a threshold, a ramp or the charge of a capacitor, and no better than
/// the voltage of that.
struct Flip {
  double from = 0.0;   ///< Second.
  double to = 0.0;     ///< Second.
  double shift = 0.0;  ///< By how much one witness may flip later. Second.
};

/// The flips of a run, as the nodal witness tells them. Where what moves slowest takes
/// more than kWaveShift of the span to move by what its voltage may differ by, the
/// moment may differ by that time; where several move, the least time counts, and none
/// of more than kWaveTimeShare of the span.
class Flips {
 public:
  Flips(const Timeline& timeline, const Waveform& nodal);

  /// By how much one witness may lag at that time in a course of the nodal witness's
  /// that may differ by `allowed`: more than usual only where the course itself jumps
  /// with a flip.
  template <typename Function>
  [[nodiscard]] double shift_of(double seconds, double allowed,
                                const std::vector<double>& times, Function&& at) const {
    const auto flip = std::find_if(flips_.begin(), flips_.end(), [&](const Flip& f) {
      return f.from - f.shift <= seconds && seconds <= f.to + f.shift;
    });
    if (flip == flips_.end() || flanks_.has(seconds)) return usual_;
    auto k = static_cast<std::size_t>(
        std::lower_bound(times.begin(), times.end(), flip->from) - times.begin());
    double low = HUGE_VAL;
    double high = -HUGE_VAL;
    for (; k < times.size() && times[k] <= flip->to; ++k) {
      low = std::min(low, at(k));
      high = std::max(high, at(k));
    }
    return high - low > allowed ? flip->shift : usual_;
  }

  [[nodiscard]] bool is_none() const { return flips_.empty(); }

 private:
  double usual_ = 0.0;
  Flanks flanks_;
  std::vector<Flip> flips_;
};

}  // namespace benchproof
