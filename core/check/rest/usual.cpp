#include "core/check/rest/usual.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace benchproof {
namespace {

/// What a single wire of a size carries in free air: the handbook's figures for chassis
/// wiring. Sizes by ASTM B258: 0.127 mm * 92^((36 - n) / 39) across.
struct Size {
  int gauge = 0;
  double amps = 0.0;
  Mark mark = Mark::verified;
};
constexpr std::array kSizes = {
    Size{16, 22.0},
    Size{18, 16.0},
    Size{20, 11.0},
    Size{22, 7.0},
    Size{24, 3.5},
    Size{26, 2.2, Mark::memory},
    Size{28, 1.4, Mark::memory},
    Size{30, 0.86},
    Size{32, 0.53, Mark::memory},
};

double square_metres(int gauge) {
  constexpr double kPi = 3.14159265358979323846;
  const double across = 0.127e-3 * std::pow(92.0, (36.0 - gauge) / 39.0);
  return kPi / 4.0 * across * across;
}

/// What a cross-section carries: as much as the next thinner size. Above AWG 16 and
/// below AWG 32 nothing is said.
std::optional<Figure> most_amps(double area) {
  constexpr double kRounding = 1e-3;  // A gauge given in mm2 to three digits.
  if (area > square_metres(kSizes.front().gauge) * (1.0 + kRounding))
    return std::nullopt;
  const auto size = std::find_if(kSizes.begin(), kSizes.end(), [area](const Size& s) {
    return square_metres(s.gauge) <= area * (1.0 + kRounding);
  });
  if (size == kSizes.end()) return std::nullopt;
  return Figure{size->amps, Unit::ampere, size->mark,
                "Handbook of Electronic Tables and Formulas, chassis wiring",
                fmt::format("AWG {}, alone in free air", size->gauge)};
}

}  // namespace

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

std::optional<Figure> resistor_rating(const Part& part, double ambient) {
  auto rated = figure(part, "power");
  const auto full = figure(part, "full_power_to");
  const auto none = figure(part, "no_power_at");
  if (!rated || !full || !none || ambient <= full->value) return rated;
  rated->source = fmt::format("{}, lowered for {} by {}", source_of(*rated),
                              short_text(ambient, Unit::celsius), full->source);
  rated->value *= power_share_at(part, ambient);
  rated->mark = Mark::derived;
  return rated;
}

std::optional<Figure> wire_rating(const Part& wire) {
  const auto gauge = figure(wire, "gauge");
  return gauge ? most_amps(gauge->value) : std::nullopt;
}

std::optional<Figure> charge_left(const Part& part) {
  auto capacity = figure(part, "capacity");
  const std::string charge = word(part, "charge");
  if (capacity)
    capacity->value *= charge == "half" ? 0.5 : charge == "spent" ? 0.1 : 1.0;
  return capacity;
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
