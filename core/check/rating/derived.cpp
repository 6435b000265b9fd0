#include "core/check/rating/derived.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "core/check/finding/wording.h"

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

/// What a wire thinner than the table's thinnest carries: the same share of the current
/// that melts it as that one, by W. H. Preece's law of 1884 (from memory): 80 A d^1.5
/// with d in millimetres, for copper.
Figure thin_amps(double area) {
  const Size& last = kSizes.back();
  // The diameter goes by the root of the cross-section, the current by its power of
  // 3/2.
  const double share = std::pow(area / square_metres(last.gauge), 0.75);
  return {last.amps * share, Unit::ampere, Mark::derived,
          fmt::format("{} of AWG {}, Handbook of Electronic Tables and Formulas, and "
                      "Preece's law of fusing (memory): I goes by d^1.5",
                      short_text(last.amps, Unit::ampere), last.gauge),
          "alone in free air"};
}

/// What a cross-section carries: as much as the next thinner size. Above AWG 16 nothing
/// is said.
std::optional<Figure> most_amps(double area) {
  constexpr double kRounding = 1e-3;  // A gauge given in mm2 to three digits.
  if (area > square_metres(kSizes.front().gauge) * (1.0 + kRounding))
    return std::nullopt;
  const auto size = std::find_if(kSizes.begin(), kSizes.end(), [area](const Size& s) {
    return square_metres(s.gauge) <= area * (1.0 + kRounding);
  });
  if (size == kSizes.end()) return thin_amps(area);
  return Figure{size->amps, Unit::ampere, size->mark,
                "Handbook of Electronic Tables and Formulas, chassis wiring",
                fmt::format("AWG {}, alone in free air", size->gauge)};
}

/// The share of its capacity that a battery of a chemistry gives in an hour without
/// losing much of it. Common practice, no source.
double practical_rate(std::string_view chemistry) {
  if (chemistry == "alkaline") return 0.2;
  if (chemistry == "zinc-carbon") return 0.1;
  if (chemistry == "lead-acid") return 0.5;
  return 1.0;
}

/// A battery's capacity at a current, where its type has it by load and the description
/// does not tell it.
std::optional<Figure> capacity_under(const Part& battery, double amps) {
  if (battery.type == nullptr || battery.settings.contains("capacity") || !(amps > 0.0))
    return std::nullopt;
  const auto curve = battery.type->curves.find("capacities");
  if (curve == battery.type->curves.end()) return std::nullopt;
  auto point = point_at(curve->second, amps);
  if (!point) return std::nullopt;
  return Figure{point->value, Unit::ampere_hour, point->mark, std::move(point->source),
                ""};
}

}  // namespace

std::optional<ThermalPath> thermal_path(const Part& part) {
  const auto sink = figure(part, "heatsink");
  const auto to_case = figure(part, "thermal_resistance_case");
  if (sink && to_case) {
    return ThermalPath{
        {to_case->value + sink->value, Unit::kelvin_per_watt, Mark::derived,
         fmt::format(
             "junction to case {}: {}; the heat sink's {}: {}",
             short_text(to_case->value, Unit::kelvin_per_watt, 4), source_of(*to_case),
             short_text(sink->value, Unit::kelvin_per_watt, 4), source_of(*sink)),
         ""},
        true};
  }
  const auto resistance = figure(part, "thermal_resistance");
  if (!resistance) return std::nullopt;
  return ThermalPath{*resistance, false};
}

std::optional<double> kelvin_per_watt(const Part& part) {
  if (const auto sink = number_of(part, "heatsink"))
    if (const auto to_case = number_of(part, "thermal_resistance_case"))
      return *to_case + *sink;
  return number_of(part, "thermal_resistance");
}

std::optional<Figure> lasting_watts(const Part& part, double ambient) {
  auto watts = figure(part, "power");
  const auto most = figure(part, "junction_max");
  const auto path = thermal_path(part);
  if (!most || !path) return watts;
  const double least = *lasting_watts_number(part, ambient);
  if (watts && watts->value <= least) return watts;
  return Figure{least, Unit::watt, Mark::derived,
                fmt::format("junction limit of {}, {}, {} from there to the air, {}",
                            short_text(most->value, Unit::celsius), source_of(*most),
                            short_text(path->resistance.value, Unit::kelvin_per_watt),
                            source_of(path->resistance)),
                ""};
}

std::optional<double> lasting_watts_number(const Part& part, double ambient) {
  const auto watts = number_of(part, "power");
  const auto most = number_of(part, "junction_max");
  const auto to_air = kelvin_per_watt(part);
  if (!most || !to_air) return watts;
  const double by_junction = (*most - ambient) / *to_air;
  return watts ? std::min(*watts, by_junction) : by_junction;
}

double power_share_at(const Part& part, double ambient) {
  const auto full = number_of(part, "full_power_to");
  if (!full || ambient <= *full) return 1.0;
  const auto none = number_of(part, "no_power_at");
  if (!none) return 1.0;
  return std::max((*none - ambient) / (*none - *full), 0.0);
}

std::optional<Figure> resistor_rating(const Part& part, double ambient) {
  auto rated = figure(part, "power");
  const auto full = figure(part, "full_power_to");
  const auto none = figure(part, "no_power_at");
  if (!rated || !full || !none || ambient <= full->value) return rated;
  rated->source = fmt::format("{}, lowered for {} by {}", source_of(*rated),
                              short_text(ambient, Unit::celsius), full->source);
  rated->value = *resistor_rating_number(part, ambient);
  rated->mark = Mark::derived;
  return rated;
}

std::optional<double> resistor_rating_number(const Part& part, double ambient) {
  const auto rated = number_of(part, "power");
  return rated ? std::optional(*rated * power_share_at(part, ambient)) : std::nullopt;
}

std::optional<Figure> wire_rating(const Part& wire, double) {
  const auto gauge = figure(wire, "gauge");
  return gauge ? most_amps(gauge->value) : std::nullopt;
}

std::optional<Figure> charge_left(const Part& battery, double amps) {
  auto capacity = figure(battery, "capacity");
  if (auto loaded = capacity_under(battery, amps)) capacity = std::move(loaded);
  const std::string charge = word_of(battery, "charge");
  if (capacity)
    capacity->value *= charge == "half" ? 0.5 : charge == "spent" ? 0.1 : 1.0;
  return capacity;
}

std::optional<Figure> battery_rate(const Part& battery, double) {
  const auto capacity = figure(battery, "capacity");
  if (!capacity || figure(battery, "current")) return std::nullopt;
  const std::string chemistry = word_of(battery, "chemistry");
  const double rate = practical_rate(chemistry);
  return practice(rate * capacity->value, Unit::ampere,
                  fmt::format("{} times the capacity in an hour, {}",
                              short_text(rate, Unit::none), chemistry));
}

std::optional<Figure> least_input(const Part& regulator, double ambient) {
  const auto number = least_input_number(regulator, ambient);
  if (!number) return std::nullopt;
  auto least = figure(regulator, "dropout");
  least->value = *number;
  return least;
}

std::optional<double> least_input_number(const Part& regulator, double) {
  const auto set = number_of(regulator, "output");
  const auto least = number_of(regulator, "dropout");
  return set && least ? std::optional(*least + *set) : std::nullopt;
}

std::optional<Figure> reverse_limit(const Part& capacitor, double) {
  if (!flag(capacitor, "polarised", false)) return std::nullopt;
  return practice(1.0, Unit::volt, "reverse voltage of an aluminium electrolytic");
}

std::optional<Figure> operating_limit(const Part& chip, double) {
  const bool is_given_most =
      chip.settings.contains("supply_max") && !chip.settings.contains("operating_max");
  return is_given_most ? std::nullopt : figure(chip, "operating_max");
}

std::optional<Figure> reversed_chip_limit(const Part&, double) {
  return practice(kReversedChipVolts, Unit::volt, "vdd does not lie below vss");
}

std::optional<Figure> reversed_input_limit(const Part&, double) {
  return practice(0.3, Unit::volt, "the input stays above common");
}

std::optional<Figure> burn_limit(const Part&, double) {
  return Figure{60.0, Unit::celsius, Mark::verified,
                "emc-pstc list post quoting burn data (Shriners Burn Institute)",
                "metal, under 5 s"};
}

}  // namespace benchproof
