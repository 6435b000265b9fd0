#include "core/check/rating/light.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

std::optional<Lamp> Lamp::of(const Part& part) {
  if (part.kind != KindId::led && part.kind != KindId::lamp) return std::nullopt;
  const auto amps = number_of(part, "current");
  if (!amps || *amps <= 0.0) return std::nullopt;
  Lamp lamp;
  lamp.rated_ = *amps;
  if (part.kind == KindId::led) return lamp;
  const auto volts = number_of(part, "voltage");
  if (!volts || *volts <= 0.0) return std::nullopt;
  lamp.is_filament_ = true;
  lamp.rated_ = *volts * *amps;
  return lamp;
}

double Lamp::light(double amps, double watts) const {
  constexpr double kFilamentPower = 2.2;
  if (!is_filament_) return std::max(0.0, amps) / rated_;
  return std::pow(std::max(0.0, watts) / rated_, kFilamentPower);
}

std::optional<double> light_share(const Part& part, double amps, double watts) {
  const auto lamp = Lamp::of(part);
  return lamp ? std::optional(lamp->light(amps, watts)) : std::nullopt;
}

}  // namespace benchproof
