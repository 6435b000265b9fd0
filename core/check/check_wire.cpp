#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "core/check/limits.h"
#include "core/check/usual.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"wire-current", "a wire's current, against what its thickness carries",
     "I (RMS over the phases) against the figure of the next thinner size of AWG 16 to "
     "32, alone in free air: caution above it, fault above twice",
     "Handbook of Electronic Tables and Formulas, chassis wiring, as quoted in public "
     "copies (verified; AWG 26, 28 and 32 from memory); twice: common practice, no "
     "source (practice)",
     "a wire's heat grows with the square of its current, and in a bundle it cannot "
     "get "
     "rid of it: its insulation softens, then smokes",
     "use a thicker wire, or two in parallel"},
    {"wire-drop", "the voltage that a wire takes for itself",
     "V = I R, with R = 'resistivity' length / cross-section, in copper at the ambient "
     "temperature (1.7241e-8 ohm m at 20 C, 0.393 % more for each C), against the "
     "highest supply voltage: note above 3 %, caution above 10 %",
     "IACS, IEC 60028 (verified); 3 % and 10 %: common practice, no source (practice)",
     "what the wire takes the load does not get; the way back takes as much again",
     "use a thicker or a shorter wire"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

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

std::optional<Finding> check_current(const CheckInput& input, int index) {
  constexpr double kFaultTimes = 2.0;  // Four times the heat. Common practice.
  const Part& wire = input.parts[index];
  const auto gauge = figure(wire, "gauge");
  const auto limit = gauge ? most_amps(gauge->value) : std::nullopt;
  const double amps = heating_amps(input, index);
  if (!limit || !exceeds(amps, limit->value)) return std::nullopt;
  const bool is_over = exceeds(amps, kFaultTimes * limit->value);
  Finding finding = about_part(
      input, index, is_over ? Severity::fault : Severity::caution, id("wire-current"));
  set_limit(finding, "current", amps, *limit);
  const auto [is, may] = two_texts(amps, limit->value, Unit::ampere);
  finding.message = fmt::format(
      "'{}' carries {}, more than the {} that a wire so thin bears {}: {}use a thicker "
      "one",
      wire.name, is, may, "alone in free air",
      is_over ? "its insulation melts; " : "in a bundle it gets hot; ");
  return finding;
}

/// The highest voltage that a circuit is supplied with; 0 where only currents feed it.
double supply_volts(const CheckInput& input) {
  double most = 0.0;
  for (const Part& part : input.parts) {
    const bool is_battery = part.kind == KindId::battery;
    if (!is_battery && part.kind != KindId::dc_supply &&
        part.kind != KindId::voltage_source)
      continue;
    const auto volts = figure(part, is_battery ? "open_circuit" : "voltage");
    const auto cells = is_battery ? figure(part, "cells") : std::nullopt;
    if (volts)
      most = std::max(most, std::abs(volts->value) * (cells ? cells->value : 1.0));
  }
  return most;
}

std::optional<Finding> check_drop(const CheckInput& input, int index) {
  constexpr double kNoteShare = 0.03, kCautionShare = 0.1;
  const Part& wire = input.parts[index];
  const double supply = supply_volts(input);
  const Peak drop = highest(input, [&](const Observation& seen) {
    return std::abs(volts_between(input, seen, index, 0, 1));
  });
  if (supply == 0.0 || !exceeds(drop.value, kNoteShare * supply)) return std::nullopt;
  const bool is_large = exceeds(drop.value, kCautionShare * supply);
  Finding finding = about_part(
      input, index, is_large ? Severity::caution : Severity::note, id("wire-drop"));
  const double share = is_large ? kCautionShare : kNoteShare;
  set_limit(
      finding, "voltage", drop.value,
      practice(share * supply, Unit::volt,
               fmt::format("{} of the supply", short_text(share, Unit::fraction))));
  finding.phase = drop.phase;
  finding.message = fmt::format(
      "'{}' takes {}, {} of the {} supply, for itself; use a thicker or shorter one",
      wire.name, short_text(drop.value, Unit::volt),
      short_text(drop.value / supply, Unit::fraction, 2),
      short_text(supply, Unit::volt));
  return finding;
}

}  // namespace

std::vector<Finding> check_wire(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::wire, [&](int index, const Part&) {
    add(findings, check_current(input, index));
    add(findings, check_drop(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_wire() { return kExplained; }

}  // namespace benchproof
