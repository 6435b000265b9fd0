#include "core/check/usual.h"

#include <algorithm>
#include <cmath>

namespace benchproof {

Peak resistor_watts(const CheckInput& input, int part) {
  const Part& resistor = input.parts[part];
  if (resistor.kind != KindId::trimmer) return heating_watts(input, part);
  const double ohms = figure(resistor, "value")->value;
  return highest(input, [&](const Observation& seen) {
    const double a = pin_amps(seen, part, 0);
    const double b = pin_amps(seen, part, 2);
    return std::max(a * a, b * b) * ohms;
  });
}

double power_share_at(const Part& part, double ambient) {
  const auto full = figure(part, "full_power_to");
  const auto none = figure(part, "no_power_at");
  if (!full || !none || ambient <= full->value) return 1.0;
  return std::max((none->value - ambient) / (none->value - full->value), 0.0);
}

double heating_amps(const CheckInput& input, int part) {
  double sum = 0.0;
  for (const SeenPhase& phase : input.phases) {
    const double amps = pin_amps(phase.seen, part, 0);
    sum += phase.phase.share * amps * amps;
  }
  return std::sqrt(sum);
}

}  // namespace benchproof
