#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/pins.h"
#include "core/check/hand/wiring.h"
#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// How near to its limit the model of core/device/ already bends.
constexpr double kBendShare = 1e-4;

/// The two resistors that set an adjustable regulator.
struct SetBy {
  double upper = 0.0;  ///< From out to adjust. Ohm.
  double lower = 0.0;  ///< From adjust to `low`. Ohm.
  int low = -1;
};

std::optional<SetBy> setting_of(const HandInput& input, int index) {
  const Part& part = input.parts[index];
  const int adjust = part.nets[kCommon];
  if (is_end(input.circuit, adjust)) return std::nullopt;
  SetBy setting;
  for (const PinRef pin : resting_pins(input.circuit, adjust)) {
    if (pin.part == index) continue;
    const Part& resistor = input.parts[pin.part];
    const auto ohms = ohms_of(input, pin.part);
    if (!is_resistor(resistor) || !ohms) return std::nullopt;
    const int far = other_net(resistor, adjust);
    if (far == part.nets[kOut]) {
      if (setting.upper > 0.0) return std::nullopt;
      setting.upper = *ohms;
    } else {
      if (setting.lower > 0.0 || !is_end(input.circuit, far)) return std::nullopt;
      setting.lower = *ohms;
      setting.low = far;
    }
  }
  if (setting.upper == 0.0 || setting.lower == 0.0) return std::nullopt;
  return setting;
}

/// A regulator that regulates, as its figures and the witnesses have it. Voltages and
/// currents are those of a positive one; of a negative one they are turned round.
struct Regulating {
  double sign = 1.0;
  Figure set;
  Figure quiescent;
  double in = 0.0;    ///< Against its reference pin. Volt.
  double amps = 0.0;  ///< Delivered.
  bool is_adjustable = false;
};

std::optional<Regulating> regulating(const HandInput& input, int index) {
  const Part& part = input.parts[index];
  if (part.nets[kIn] < 0 || part.nets[kCommon] < 0 || part.nets[kOut] < 0)
    return std::nullopt;
  const auto set = figure(part, "output");
  const auto quiescent = figure(part, "quiescent");
  const auto dropout = figure(part, "dropout");
  const auto limit = figure(part, "limit");
  if (!set || !quiescent || !dropout) return std::nullopt;
  Regulating r;
  r.sign = polarity(part);
  r.set = *set;
  r.quiescent = *quiescent;
  r.is_adjustable = part.pins[kCommon] == "adjust";
  const Observation& seen = input.nodal;
  r.in = r.sign * (seen.net_volts[part.nets[kIn]] - seen.net_volts[part.nets[kCommon]]);
  r.amps = -r.sign * seen.pin_amps[index][kOut];
  const bool has_room = r.in - set->value > dropout->value;
  const bool is_within = !limit || r.amps < limit->value * (1.0 - kBendShare);
  // One that is fed from its output takes a trace of current back.
  if (!has_room || !is_within || r.amps < 0.0) return std::nullopt;
  return r;
}

HandResult about(const Part& part, std::string_view rule, std::string_view title,
                 std::string_view quantity, Unit unit) {
  HandResult result;
  result.rule = rule;
  result.title = title;
  result.part = part.name;
  result.quantity = quantity;
  result.unit = unit;
  return result;
}

HandResult output_result(const HandInput& input, int index, const Regulating& r,
                         const std::optional<SetBy>& setting) {
  const Part& part = input.parts[index];
  HandResult result =
      about(part, "regulator-output", "output of a regulator", "voltage", Unit::volt);
  result.net = input.circuit.nets[part.nets[kOut]].name;
  result.neglects = "what load and input change";
  result.mark = Mark::verified;
  double size = r.set.value;
  int low = part.nets[kCommon];
  if (setting) {
    low = setting->low;
    size = r.set.value * (1.0 + setting->lower / setting->upper) +
           r.quiescent.value * setting->lower;
    result.formula = "V = Vref (1 + R2 / R1) + Iadj R2";
    result.numbers = fmt::format(
        "{} (1 + {} / {}) + {} {} = {}", hand_text(r.set.value, Unit::volt),
        hand_text(setting->lower, Unit::ohm), hand_text(setting->upper, Unit::ohm),
        hand_text(r.quiescent.value, Unit::ampere),
        hand_text(setting->lower, Unit::ohm), hand_text(size, Unit::volt));
    result.source = "ST LM217L/LM317L application information";
    cite(result, "Vref", r.set);
    cite(result, "Iadj", r.quiescent);
  } else {
    result.formula = "V = Vset";
    result.numbers = hand_text(size, Unit::volt);
    result.source = source_of(r.set);
    result.mark = r.set.mark;
  }
  result.hand = r.sign * size;
  if (r.sign < 0.0) {
    result.neglects += "; sizes are put in, the output is negative";
  }
  put_witnesses(result, input, [&](const Observation& seen) {
    return seen.net_volts[part.nets[kOut]] - seen.net_volts[low];
  });
  return result;
}

/// P = (Vin - Vout) I + Vin IQ; with an adjust pin its current flows from in to adjust.
HandResult heat_result(const HandInput& input, int index, const Regulating& r) {
  const Part& part = input.parts[index];
  HandResult result =
      about(part, "regulator-heat", "heat of a regulator", "power", Unit::watt);
  const double across = r.in - r.set.value;
  result.hand = across * r.amps + r.in * r.quiescent.value;
  result.formula = r.is_adjustable ? "P = (Vin - Vout) I + (Vin - Vadj) Iadj"
                                   : "P = (Vin - Vout) I + Vin IQ";
  // With an adjust pin the difference is the same, counted from there.
  result.numbers = fmt::format(
      "({} - {}) {} + {} {} = {}", hand_text(r.in, Unit::volt),
      hand_text(r.set.value, Unit::volt), hand_text(r.amps, Unit::ampere),
      hand_text(r.in, Unit::volt), hand_text(r.quiescent.value, Unit::ampere),
      hand_text(result.hand, Unit::watt));
  result.neglects =
      r.is_adjustable
          ? "what load and input change in Vout; voltages are counted from "
            "the adjust pin, Vin and I are those solved"
          : "what load and input change in Vout; Vin and I are those solved";
  put_witnesses(result, input,
                [&](const Observation& seen) { return seen.part_watts[index]; });
  result.source = "Malvino & Bates, Electronic Principles, example 24-7";
  result.mark = Mark::verified;
  cite(result, r.is_adjustable ? "Iadj" : "IQ", r.quiescent);
  return result;
}

/// TJ = TA + P RthJA, or with a heat sink TJ = TA + P (RthJC + RthCA).
std::optional<HandResult> temperature_result(const HandInput& input, int index,
                                             double watts) {
  const Part& part = input.parts[index];
  const auto path = thermal_path(part);
  if (!path) return std::nullopt;
  HandResult result =
      about(part, "regulator-temperature", "junction temperature of a regulator",
            "temperature", Unit::celsius);
  const double ambient = input.circuit.ambient;
  result.hand = ambient + watts * path->resistance.value;
  std::string resistance = hand_text(path->resistance.value, Unit::kelvin_per_watt);
  result.formula = "TJ = TA + P RthJA";
  const auto to_case = figure(part, "thermal_resistance_case");
  const auto sink = figure(part, "heatsink");
  if (path->on_heatsink && to_case && sink) {
    result.formula = "TJ = TA + P (RthJC + Rth of the sink)";
    resistance =
        fmt::format("({} + {})", hand_text(to_case->value, Unit::kelvin_per_watt),
                    hand_text(sink->value, Unit::kelvin_per_watt));
  }
  result.numbers = fmt::format("{} + {} {} = {}", hand_text(ambient, Unit::celsius),
                               hand_text(watts, Unit::watt), resistance,
                               hand_text(result.hand, Unit::celsius));
  result.neglects = "what the heat changes in the resistance and in the part's figures";
  put_witnesses(result, input, [&](const Observation& seen) {
    return ambient + seen.part_watts[index] * path->resistance.value;
  });
  result.source = source_of(path->resistance);
  result.mark = path->resistance.mark;
  return result;
}

}  // namespace

/// Of a regulator that regulates: its output, its heat, its junction's temperature.
std::vector<HandResult> hand_regulator(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const int index = static_cast<int>(k);
    const Part& part = input.parts[k];
    if (part.kind != KindId::regulator) continue;
    const auto r = regulating(input, index);
    if (!r) continue;
    const auto setting = r->is_adjustable ? setting_of(input, index) : std::nullopt;
    if (r->is_adjustable ? !setting : !is_end(input.circuit, part.nets[kCommon]))
      continue;
    results.push_back(output_result(input, index, *r, setting));
    HandResult heat = heat_result(input, index, *r);
    const double watts = heat.hand;
    results.push_back(std::move(heat));
    if (auto hot = temperature_result(input, index, watts))
      results.push_back(std::move(*hot));
  }
  return results;
}

}  // namespace benchproof
