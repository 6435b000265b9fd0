#include <fmt/format.h>

#include <cmath>

#include "core/check/hand/switched.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr const char* kEquations =
    "Malvino & Bates, Electronic Principles, ch. 14 (from memory)";

/// A MOS transistor whose gate has what its on resistance is stated for, with a load
/// from an end to its drain and its source on an end.
struct Closed {
  double sign = 1.0;
  double volts = 0.0;  ///< Of the load and the transistor together. Volt.
  Figure resistance;
  Chain load;
  std::vector<double> drops;
};

std::optional<Closed> closed_at(const HandInput& input, int index) {
  const Part& part = input.parts[index];
  const int gate = part.nets[kControl];
  const int source = part.nets[kLow];
  if (gate < 0 || source < 0 || part.nets[kHigh] < 0 || !is_end(input.circuit, source))
    return std::nullopt;
  const std::vector<double>& volts = input.nodal.net_volts;
  Closed closed;
  closed.sign = polarity(part);
  const auto resistance =
      sheet_on_resistance(part, closed.sign * (volts[gate] - volts[source]));
  if (!resistance) return std::nullopt;
  closed.resistance = *resistance;
  const auto load = switched_load(input, index, closed.sign);
  if (!load) return std::nullopt;
  const auto drops = drops_of(input, *load);
  if (!drops) return std::nullopt;
  closed.load = *load;
  double sum = 0.0;
  for (const Figure& drop : *drops) {
    closed.drops.push_back(drop.value);
    sum += drop.value;
  }
  closed.volts = closed.sign * (volts[load->from] - volts[source]);
  if (closed.volts <= 0.0 || closed.volts < (1.0 + kLeastRoom) * sum)
    return std::nullopt;
  return closed;
}

}  // namespace

/// I = (V - VF) / (R + RDS), P = I^2 RDS.
std::vector<HandResult> hand_mosfet(const HandInput& input) {
  std::vector<HandResult> results;
  for (std::size_t k = 0; k < input.parts.size(); ++k) {
    const int index = static_cast<int>(k);
    const Part& part = input.parts[k];
    if (part.kind != KindId::mosfet) continue;
    const auto closed = closed_at(input, index);
    if (!closed) continue;
    double sum = 0.0;
    for (const double drop : closed->drops) sum += drop;
    const double ohms = closed->resistance.value;
    const double amps = (closed->volts - sum) / (closed->load.total_ohms() + ohms);
    // Beyond the current that the resistance is stated for it is none any more.
    const auto most = figure(part, "on_current");
    if (most && amps > most->value) continue;
    HandResult result;
    result.rule = "mosfet-current";
    result.title = "current of a MOS transistor that is fully on";
    result.part = part.name;
    result.quantity = "current";
    result.unit = Unit::ampere;
    result.hand = amps;
    result.formula =
        closed->drops.empty() ? "I = V / (R + RDS)" : "I = (V - VF) / (R + RDS)";
    std::vector<double> all = closed->load.ohms;
    if (closed->load.has_output) all.push_back(closed->load.output_ohms);
    all.push_back(ohms);
    result.numbers =
        fmt::format("{} / {} = {}", over_text(closed->volts, closed->drops),
                    bracketed(all, Unit::ohm), hand_text(amps, Unit::ampere));
    result.neglects =
        "that RDS falls with more voltage at the gate: it is the largest, at the least "
        "voltage it is stated for; V is the load's supply as solved";
    result.source = kEquations;
    result.mark = Mark::memory;
    cite(result, "RDS", closed->resistance);
    put_witnesses(result, input, [&](const Observation& seen) {
      return closed->sign * seen.pin_amps[index][kHigh];
    });
    results.push_back(result);
    result.rule = "mosfet-heat";
    result.title = "heat of a MOS transistor that is fully on";
    result.quantity = "power";
    result.unit = Unit::watt;
    result.formula = "P = I^2 RDS";
    result.hand = amps * amps * ohms;
    result.numbers =
        fmt::format("({})^2 {} = {}", hand_text(amps, Unit::ampere),
                    hand_text(ohms, Unit::ohm), hand_text(result.hand, Unit::watt));
    put_witnesses(result, input,
                  [&](const Observation& seen) { return seen.part_watts[index]; });
    results.push_back(std::move(result));
  }
  return results;
}

}  // namespace benchproof
