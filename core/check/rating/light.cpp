#include "core/check/rating/light.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

std::optional<double> light_share(const Part& part, double amps, double watts) {
  constexpr double kFilamentPower = 2.2;
  const auto rated = number_of(part, "current");
  if (!rated || *rated <= 0.0) return std::nullopt;
  if (part.kind == KindId::led) return std::max(0.0, amps) / *rated;
  const auto volts = number_of(part, "voltage");
  if (part.kind != KindId::lamp || !volts || *volts <= 0.0) return std::nullopt;
  return std::pow(std::max(0.0, watts) / (*volts * *rated), kFilamentPower);
}

}  // namespace benchproof
