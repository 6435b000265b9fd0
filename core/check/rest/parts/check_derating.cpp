#include <fmt/format.h>

#include <cmath>
#include <vector>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kExplained[] = {
    {"derating", "parts that are worked harder than long-lived equipment works them",
     "of a rating at most: diode current 50 %, reverse voltage 70 %; zener power 50 %; "
     "transistor and MOS current 75 %, voltage 75 %, power 60 %, gate voltage 60 %; "
     "regulator input and current 80 %. Resistors, capacitors, supplies, fuses and a "
     "controller's pins have shares of their own (resistor-power and so on)",
     "NASA EEE-INST-002 as remembered (memory)",
     "a part near its rating is within it, but fails earlier and stands no surprise",
     "nothing, for a model; use the next size up where it runs for years or is hard to "
     "reach"},
};
consteval CheckId id(std::string_view check) { return {kExplained, check}; }

/// A rating in use.
struct Use {
  std::string_view words;
  std::string_view quantity;
  std::string_view key;
  double share = 1.0;  ///< That careful use keeps to.
  Peak value;
};

std::vector<Use> uses_of(const CheckInput& input, int index) {
  const auto volts = [&](int pin, int other) {
    return highest(input, [&, pin, other](const Observation& seen) {
      return std::abs(volts_between(input, seen, index, pin, other));
    });
  };
  const auto amps = [&](int pin) {
    return Peak{std::abs(pin_amps(input.average, index, pin)), ""};
  };
  const Peak heat = heating_watts(input, index);
  switch (input.parts[index].kind) {
    case KindId::diode:
      return {{"current rating",
               "current",
               "current",
               0.5,
               {std::max(pin_amps(input.average, index, 0), 0.0), ""}},
              {"reverse voltage rating", "voltage", "reverse", 0.7,
               highest(input, [&](const Observation& seen) {
                 return volts_between(input, seen, index, 1, 0);
               })}};
    case KindId::zener:
      return {{"power rating", "power", "power", 0.5, heat}};
    case KindId::transistor:
      return {{"current rating", "current", "current", 0.75, amps(1)},
              {"voltage rating", "voltage", "voltage", 0.75, volts(1, 2)},
              {"power rating", "power", "power", 0.6, heat}};
    case KindId::mosfet:
      return {{"current rating", "current", "current", 0.75, amps(1)},
              {"voltage rating", "voltage", "voltage", 0.75, volts(1, 2)},
              {"gate voltage rating", "voltage", "gate", 0.6, volts(0, 2)},
              {"power rating", "power", "power", 0.6, heat}};
    case KindId::regulator:
      return {{"input voltage rating", "voltage", "input_max", 0.8, volts(0, 1)},
              {"current rating", "current", "current", 0.8, amps(2)}};
    default:
      return {};
  }
}

/// The rating of which most is used, if that is more than careful use; nothing where a
/// rating is passed, for which there is a fault.
std::optional<Finding> check_part(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  std::optional<Finding> worst;
  double most = 0.0;
  for (const Use& use : uses_of(input, index)) {
    const auto rating = figure(part, use.key);
    if (!rating) continue;
    if (exceeds(use.value.value, rating->value)) return std::nullopt;
    const double times = use.value.value / (use.share * rating->value);
    if (!exceeds(times, 1.0) || times <= most) continue;
    most = times;
    worst = about_part(input, index, Severity::note, id("derating"));
    set_limit(*worst, use.quantity, use.value.value,
              {use.share * rating->value, rating->unit, Mark::memory,
               "NASA EEE-INST-002 as remembered",
               fmt::format("{} of the rating", short_text(use.share, Unit::fraction))});
    worst->phase = use.value.phase;
    worst->message = fmt::format(
        "'{}' uses {} of its {}; within it, but what is to last for years keeps to {}",
        part.name, short_text(use.value.value / rating->value, Unit::fraction, 2),
        use.words, short_text(use.share, Unit::fraction));
  }
  return worst;
}

}  // namespace

std::vector<Finding> check_derating(const CheckInput& input) {
  std::vector<Finding> findings;
  for (std::size_t k = 0; k < input.parts.size(); ++k)
    add(findings, check_part(input, static_cast<int>(k)));
  return findings;
}

std::span<const Explanation> explain_derating() { return kExplained; }

}  // namespace benchproof
