#include "core/sizing/detail/scale.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

Scale::Scale(const SizedKey& key, const Goal& goal)
    : least_(key.least),
      most_(key.most),
      // A run costs much more than a state at rest.
      per_decade_(goal.measure == Goal::Measure::crossing ? 4.0 : 8.0),
      by_ratio_(key.least > 0.0) {}

double Scale::value(double position) const {
  if (position <= 0.0) return least_;
  if (position >= 1.0) return most_;
  if (by_ratio_) return least_ * std::pow(most_ / least_, position);
  return std::lerp(least_, most_, position);
}

double Scale::position(double value) const {
  if (!(value > least_)) return 0.0;
  if (value >= most_) return 1.0;
  return by_ratio_ ? std::log(value / least_) / log_range()
                   : (value - least_) / (most_ - least_);
}

int Scale::steps() const {
  constexpr double kLinearAsDecades = 8.0;
  const double decades = by_ratio_ ? std::log10(most_ / least_) : kLinearAsDecades;
  return std::max(8, static_cast<int>(std::ceil(per_decade_ * decades)));
}

double Scale::log_range() const { return std::log(most_ / least_); }

}  // namespace benchproof
