#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutDiode[] = {
    {"diode-current", "a diode's lasting current",
     "average over the phases <= 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the junction overheats", "use a diode for more current"},
    {"diode-surge", "a diode's highest current", "each phase <= 'surge'",
     "the part's figure 'surge'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the junction melts at once", "use a diode for more current"},
    {"diode-reverse", "a diode's voltage in reverse",
     "V(cathode) - V(anode) <= 'reverse'",
     "the part's figure 'reverse'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the diode breaks down and usually stays a short",
     "use a diode for more reverse voltage"},
    {"diode-power", "a diode's heat", "P = V I <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than it gives off", "lower its current"},
    {"diode-junction", "the temperature of its junction",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "above it the part fails", "lower its current"},
    {"zener-current", "a zener's lasting current",
     "average over the phases, either way, <= 'current'",
     "the part's figure 'current'; 'benchproof parts TYPE' names its source and mark",
     "beyond it the junction overheats", "raise the resistor that feeds it"},
    {"zener-power", "a zener's heat", "P = V I <= 'power'",
     "the part's figure 'power'; 'benchproof parts TYPE' names its source and mark",
     "more heat than it gives off",
     "raise the resistor that feeds it, or use one for more power"},
    {"zener-junction", "the temperature of its junction",
     "Tj = ambient + P 'thermal_resistance' <= 'junction_max'",
     "the part's figures 'thermal_resistance' and 'junction_max'; 'benchproof parts "
     "TYPE' names their sources and marks",
     "above it the part fails", "raise the resistor that feeds it"},
    {"zener-forward", "a zener that conducts forward",
     "forward current at most 1 mA, unless a second one stands against it",
     "common practice, no source (practice)",
     "forward it is an ordinary diode of some 0.7 V and holds nothing at its voltage",
     "turn it round: banded end at the positive side"},
    {"zener-starved", "a zener that a load leaves nothing",
     "V(cathode) - V(anode) at least 95 % of 'voltage', or 0.1 mA, where a resistor "
     "feeds it from a rail above that: a fault where its net is a supply (of a chip, a "
     "regulator, a lamp, motor, coil or buzzer, or at a transistor's base), else a "
     "caution",
     "common practice, no source (practice)",
     "out of breakdown it holds no voltage: the load gets what the resistor leaves",
     "lower the resistor that feeds it: R = (least supply - Vz) / (load + 5 mA)"},
};

/// A zener that conducts forward by more than this is not used as a zener. Common
/// practice, no source.
constexpr double kForwardAmps = 1e-3;

/// Whether nothing but a second zener, turned the other way, stands on one of the
/// part's nets: such a pair conducts forward in one of its halves.
bool is_back_to_back(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  for (const int pin : {0, 1}) {
    if (part.nets[pin] < 0) continue;
    const std::vector<PinRef> pins = resting_pins(input.circuit, part.nets[pin]);
    if (pins.size() != 2) continue;
    const PinRef other = pins[0].part == index ? pins[1] : pins[0];
    if (input.parts[other.part].kind == KindId::zener && other.pin == pin) return true;
  }
  return false;
}

std::optional<Finding> check_forward(const CheckInput& input, int index) {
  const Peak forward =
      highest(input, [&](const Observation& seen) { return pin_amps(seen, index, 0); });
  if (!exceeds(forward.value, kForwardAmps) || is_back_to_back(input, index))
    return std::nullopt;
  Finding finding =
      about_part(input, index, Severity::fault, CheckId(kAboutDiode, "zener-forward"));
  set_limit(finding, "current", forward.value,
            practice(kForwardAmps, Unit::ampere, "a zener works in reverse"));
  finding.phase = forward.phase;
  finding.message = fmt::format(
      "'{}' carries {} forward and works as an ordinary diode: is it the wrong way "
      "round",
      input.parts[index].name, short_text(forward.value, Unit::ampere));
  return finding;
}

/// A zener below this share of its voltage, with less than this, is out of breakdown.
/// Common practice, no source.
constexpr double kStarvedShare = 0.95;
constexpr double kStarvedAmps = 0.1e-3;

/// Whether a resistor feeds a net from one that lies `volts` or more above `foot`.
bool is_fed_from(const CheckInput& input, const Observation& seen, int net, int foot,
                 double volts) {
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const Part& part = input.parts[pin.part];
    if (part.kind != KindId::resistor) return false;
    const int other = other_net(part, net);
    return other >= 0 && is_rail(input.circuit, other) &&
           seen.net_volts[other] - seen.net_volts[foot] >= volts;
  });
}

/// Whether something other than a zener holds a net: a supply, battery or regulator.
bool is_held_otherwise(const CheckInput& input, int net) {
  const auto& pins = input.circuit.nets[net].pins;
  return std::any_of(pins.begin(), pins.end(), [&](PinRef pin) {
    const KindId kind = input.parts[pin.part].kind;
    return is_source(kind) || (kind == KindId::regulator && pin.pin != 0);
  });
}

/// A part that takes its supply, or the voltage that it hands on, from a net, itself or
/// behind wires, fuses and closed switches; -1 where there is none.
int supplied_part(const CheckInput& input, const State& state, int net) {
  std::vector<int> nets{net};
  for (std::size_t k = 0; k < nets.size(); ++k) {
    for (const PinRef pin : input.circuit.nets[nets[k]].pins) {
      const Part& part = input.parts[pin.part];
      if (is_load(part.kind)) return pin.part;
      const bool is_first = pin.pin == 0;  // Of a controller vdd, of a regulator in.
      if (is_first &&
          (part.kind == KindId::controller || part.kind == KindId::regulator ||
           part.kind == KindId::transistor))
        return pin.part;
      const bool is_joint =
          part.kind == KindId::wire || part.kind == KindId::fuse ||
          (part.kind == KindId::switch_ && is_closed(state, pin.part));
      const int other = is_joint ? other_net(part, nets[k]) : -1;
      if (other > 0 && std::find(nets.begin(), nets.end(), other) == nets.end())
        nets.push_back(other);
    }
  }
  return -1;
}

/// A zener that a resistor feeds from enough, but which a load leaves nothing. One at a
/// controller's pin is there in case, and is dark as long as all is well.
std::optional<Finding> check_starved(const CheckInput& input, int index) {
  const Part& part = input.parts[index];
  const auto voltage = figure(part, "voltage");
  const int foot = part.nets[0], net = part.nets[1];
  if (!voltage || foot < 0 || net <= 0 || is_held_otherwise(input, net))
    return std::nullopt;
  for (const SeenPhase& phase : input.phases) {
    const double volts = phase.seen.net_volts[net] - phase.seen.net_volts[foot];
    const double amps = -pin_amps(phase.seen, index, 0);
    if (volts > kStarvedShare * voltage->value || amps > kStarvedAmps) continue;
    if (!is_fed_from(input, phase.seen, net, foot, voltage->value)) continue;
    const int fed = supplied_part(input, phase.phase.state, net);
    Finding finding =
        about_part(input, index, fed < 0 ? Severity::caution : Severity::fault,
                   CheckId(kAboutDiode, "zener-starved"));
    set_limit(finding, "voltage", volts, *voltage);
    finding.bound = Bound::lower;
    finding.phase = phase.phase.name;
    finding.message = fmt::format(
        "'{}' holds nothing: only {} are left across it, below its {}; lower the "
        "resistor that feeds it, or the load ({})",
        part.name, short_text(volts, Unit::volt),
        short_text(voltage->value, Unit::volt),
        fed < 0 ? "fine if it is there as a clamp only"
                : fmt::format("'{}' gets that little", input.parts[fed].name));
    return finding;
  }
  return std::nullopt;
}

}  // namespace

std::vector<Finding> check_diode(const CheckInput& input) {
  std::vector<Finding> findings;
  for_parts(input, KindId::diode,
            [&](int index, const Part&) { tell_ratings(input, index, findings); });
  for_parts(input, KindId::zener, [&](int index, const Part&) {
    tell_ratings(input, index, findings);
    append(findings, check_forward(input, index));
    append(findings, check_starved(input, index));
  });
  return findings;
}

std::span<const Explanation> explain_diode() { return kAboutDiode; }

}  // namespace benchproof
