#include "core/check/rating/borne.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

double BorneCurve::at(double seconds) const {
  if (seconds <= front().seconds) return front().times;
  if (seconds >= back().seconds) return back().times;
  const auto* next =
      std::upper_bound(begin(), end(), seconds,
                       [](double s, const Borne& point) { return s < point.seconds; });
  const Borne& last = *(next - 1);
  const double share =
      std::log(seconds / last.seconds) / std::log(next->seconds / last.seconds);
  return last.times * std::pow(next->times / last.times, share);
}

}  // namespace benchproof
