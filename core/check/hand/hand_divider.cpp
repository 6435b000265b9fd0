#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/pins.h"
#include "core/check/hand/wiring.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Nearer to its end than this, and a wiper keeps more than its share of the track
/// (lowering keeps 0.1 % or 1 ohm). Common practice, no source.
constexpr double kLeastTurn = 1e-2;
constexpr double kLeastOhms = 10.0;

/// What leads from a tap to another net.
struct Leg {
  double ohms = 0.0;
  int far = -1;
  int part = -1;
};

/// The legs that a pin on a tap is; nothing where it is something else.
std::optional<std::vector<Leg>> legs_of(const HandInput& input, PinRef pin) {
  const Part& part = input.parts[pin.part];
  if (is_resistor(part)) {
    const auto ohms = ohms_of(input, pin.part);
    if (!ohms) return std::nullopt;
    return std::vector<Leg>{{*ohms, part.nets[1 - pin.pin], pin.part}};
  }
  if (part.kind != KindId::trimmer || pin.pin != kWiper) return std::nullopt;
  const auto value = figure(part, "value");
  const auto turn = figure(part, "turn");
  if (!value || !turn) return std::nullopt;
  const double from_a = turn->value * value->value;
  const double from_b = (1.0 - turn->value) * value->value;
  const bool is_at_end = turn->value < kLeastTurn || turn->value > 1.0 - kLeastTurn ||
                         std::min(from_a, from_b) < kLeastOhms;
  if (is_at_end) return std::nullopt;
  return std::vector<Leg>{{from_a, part.nets[0], pin.part},
                          {from_b, part.nets[2], pin.part}};
}

/// A tap: one leg to a higher end, one or two to one lower end, and nothing else that
/// carries current.
struct Divider {
  double upper = 0.0;
  std::vector<double> lower;
  int lower_part = -1;  ///< Of the first of them.
  int high = -1;
  int low = -1;
};

std::optional<Divider> divider_at(const HandInput& input, int tap) {
  if (is_end(input.circuit, tap)) return std::nullopt;
  const std::vector<double>& volts = input.nodal.net_volts;
  Divider divider;
  double siemens = 0.0;
  for (const PinRef pin : working_pins(input, tap)) {
    const auto legs = legs_of(input, pin);
    if (!legs) return std::nullopt;
    for (const Leg& leg : *legs) {
      if (leg.far == tap || !is_end(input.circuit, leg.far)) return std::nullopt;
      siemens += 1.0 / leg.ohms;
      if (volts[leg.far] > volts[tap]) {
        if (divider.high >= 0) return std::nullopt;
        divider.upper = leg.ohms;
        divider.high = leg.far;
      } else {
        if (divider.low >= 0 && divider.low != leg.far) return std::nullopt;
        if (divider.lower.empty()) divider.lower_part = leg.part;
        divider.lower.push_back(leg.ohms);
        divider.low = leg.far;
      }
    }
  }
  if (divider.high < 0 || divider.lower.empty() || divider.lower.size() > 2)
    return std::nullopt;
  const bool is_idle =
      are_listeners_idle(input, tap, 1.0 / siemens, volts[tap], volts[tap], volts);
  if (!is_idle) return std::nullopt;
  return divider;
}

}  // namespace

/// V = VS R2 / (R1 + R2), where a load makes R2 the two in parallel. About the net
/// where the lower end is ground, else about the lower part.
std::vector<HandResult> hand_divider(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t n = 0; n < input.circuit.nets.size(); ++n) {
    const int tap = static_cast<int>(n);
    const auto divider = divider_at(input, tap);
    if (!divider) continue;
    const double volts =
        input.nodal.net_volts[divider->high] - input.nodal.net_volts[divider->low];
    double lower = divider->lower[0];
    HandResult result;
    result.rule = "divider";
    result.title = "voltage at a divider's tap";
    result.formula = "V = VS R2 / (R1 + R2)";
    std::string joined;
    if (divider->lower.size() == 2) {
      const double load = divider->lower[1];
      const double both = lower * load / (lower + load);
      result.rule = "loaded-divider";
      result.title = "voltage at a loaded divider's tap";
      result.formula = "R = R2 RL / (R2 + RL), V = VS R / (R1 + R)";
      joined = fmt::format("{} || {} = {}; ", hand_text(lower, Unit::ohm),
                           hand_text(load, Unit::ohm), hand_text(both, Unit::ohm));
      lower = both;
    }
    if (divider->low == 0) {
      result.net = input.circuit.nets[tap].name;
    } else {
      // The rule's voltage is not the net's then, which counts against ground.
      result.part = input.parts[divider->lower_part].name;
      result.title = fmt::format("voltage over {}, net '{}' above net '{}'",
                                 divider->lower.size() == 2 ? "R" : "R2",
                                 input.circuit.nets[tap].name,
                                 input.circuit.nets[divider->low].name);
    }
    result.quantity = "voltage";
    result.unit = Unit::volt;
    result.hand = volts * lower / (divider->upper + lower);
    result.numbers =
        fmt::format("{}{} {} / ({} + {}) = {}", joined, hand_text(volts, Unit::volt),
                    hand_text(lower, Unit::ohm), hand_text(divider->upper, Unit::ohm),
                    hand_text(lower, Unit::ohm), hand_text(result.hand, Unit::volt));
    put_witnesses(result, input, [&](const Observation& seen) {
      return seen.net_volts[tap] - seen.net_volts[divider->low];
    });
    result.neglects =
        "what gates and inputs at the tap draw; VS is that between its ends as solved";
    result.source =
        "Kuphaldt, Lessons In Electric Circuits vol. I ch. 6, voltage divider circuits";
    result.mark = Mark::verified;
    results.push_back(std::move(result));
  }
  return results;
}

}  // namespace benchproof
