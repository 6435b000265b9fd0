#include <fmt/format.h>

#include <cmath>

#include "core/catalogue/pins.h"
#include "core/check/hand/wiring.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// A zener across what it holds: one resistor from an end, loads that are resistors,
/// and nothing else.
struct Shunt {
  double volts = 0.0;   ///< Between the resistor's end and the anode.
  double series = 0.0;  ///< Ohm.
  double load = 0.0;    ///< All loads in parallel; 0 where there is none. Ohm.
};

std::optional<Shunt> shunt_at(const HandInput& input, int index) {
  const Part& zener = input.parts[index];
  const int held = zener.nets[kCathode];
  const int low = zener.nets[kAnode];
  if (held < 0 || low < 0 || is_end(input.circuit, held) || !is_end(input.circuit, low))
    return std::nullopt;
  const std::vector<double>& volts = input.nodal.net_volts;
  Shunt shunt;
  double siemens = 0.0;
  for (const PinRef pin : working_pins(input, held)) {
    if (pin.part == index) continue;
    const Part& part = input.parts[pin.part];
    const auto ohms = ohms_of(input, pin.part);
    if (!is_resistor(part) || !ohms) return std::nullopt;
    const int far = other_net(part, held);
    if (far == low) {
      siemens += 1.0 / *ohms;
      continue;
    }
    if (shunt.series > 0.0 || !is_end(input.circuit, far)) return std::nullopt;
    shunt.series = *ohms;
    shunt.volts = volts[far] - volts[low];
  }
  if (shunt.series == 0.0) return std::nullopt;
  if (siemens > 0.0) shunt.load = 1.0 / siemens;
  const bool is_idle =
      are_listeners_idle(input, held, shunt.series, volts[held], volts[held], volts);
  if (!is_idle) return std::nullopt;
  return shunt;
}

/// What the rules of one zener have in common.
HandResult about_zener(const Part& zener, const Figure& breakdown) {
  HandResult result;
  result.part = zener.name;
  result.source =
      "Malvino & Bates, Electronic Principles, ch. 5; Kuphaldt, Lessons In Electric "
      "Circuits vol. III ch. 3";
  result.mark = Mark::verified;
  result.neglects =
      "the slope of the zener: VZ is a little lower below the current it is stated for "
      "and higher above";
  cite(result, "VZ", breakdown);
  return result;
}

HandResult voltage_result(const HandInput& input, int index, HandResult result,
                          double held) {
  const Part& zener = input.parts[index];
  result.rule = "zener-voltage";
  result.title = "voltage that a zener holds";
  result.quantity = "voltage";
  result.unit = Unit::volt;
  result.formula = "V = VZ";
  result.hand = held;
  result.numbers = hand_text(held, Unit::volt);
  put_witnesses(result, input, [&](const Observation& seen) {
    return seen.net_volts[zener.nets[kCathode]] - seen.net_volts[zener.nets[kAnode]];
  });
  return result;
}

HandResult current_result(const HandInput& input, int index, HandResult result,
                          const Shunt& shunt, double held, double amps) {
  result.rule = "zener-current";
  result.title = "current of a zener behind a resistor";
  result.quantity = "current";
  result.unit = Unit::ampere;
  result.hand = amps;
  result.formula = "IZ = (VS - VZ) / RS";
  result.numbers =
      fmt::format("({} - {}) / {}", hand_text(shunt.volts, Unit::volt),
                  hand_text(held, Unit::volt), hand_text(shunt.series, Unit::ohm));
  if (shunt.load > 0.0) {
    result.formula += " - VZ / RL";
    result.numbers += fmt::format(" - {} / {}", hand_text(held, Unit::volt),
                                  hand_text(shunt.load, Unit::ohm));
  }
  result.numbers += " = " + hand_text(amps, Unit::ampere);
  put_witnesses(result, input, [&](const Observation& seen) {
    return seen.pin_amps[index][kCathode];
  });
  return result;
}

HandResult power_result(const HandInput& input, int index, HandResult result,
                        double held, double amps) {
  result.rule = "zener-power";
  result.title = "heat of a zener";
  result.quantity = "power";
  result.unit = Unit::watt;
  result.formula = "P = VZ IZ";
  result.hand = held * amps;
  result.numbers =
      fmt::format("{} {} = {}", hand_text(held, Unit::volt),
                  hand_text(amps, Unit::ampere), hand_text(result.hand, Unit::watt));
  put_witnesses(result, input,
                [&](const Observation& seen) { return seen.part_watts[index]; });
  return result;
}

void put_results(const HandInput& input, int index, const Shunt& shunt,
                 const Figure& breakdown, std::vector<HandResult>& results) {
  const Part& zener = input.parts[index];
  const double held = breakdown.value;
  const double fed = (shunt.volts - held) / shunt.series;
  const double amps = shunt.load > 0.0 ? fed - held / shunt.load : fed;
  // Without it the divider would stand lower, or so near that it hardly conducts.
  const double open = shunt.load > 0.0
                          ? shunt.volts * shunt.load / (shunt.load + shunt.series)
                          : shunt.volts;
  if (open < (1.0 + kLeastRoom) * held) return;
  const auto knee = number_of(zener, "knee_current");
  if (knee && amps < *knee) return;
  HandResult common = about_zener(zener, breakdown);
  common.net = input.circuit.nets[zener.nets[kCathode]].name;
  results.push_back(voltage_result(input, index, common, held));
  results.push_back(current_result(input, index, common, shunt, held, amps));
  results.push_back(power_result(input, index, common, held, amps));
}

}  // namespace

/// V = VZ, IZ = (VS - VZ) / RS - VZ / RL, P = VZ IZ.
std::vector<HandResult> hand_zener(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const int index = static_cast<int>(k);
    if (input.parts[k].kind != KindId::zener) continue;
    const auto breakdown = figure(input.parts[k], "voltage");
    const auto shunt = shunt_at(input, index);
    if (breakdown && shunt) put_results(input, index, *shunt, *breakdown, results);
  }
  return results;
}

}  // namespace benchproof
