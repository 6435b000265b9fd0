#include "core/check/rest/joints.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/check/rest/limits.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// A junction that carries less is taken as blocking: the leak of an input (1 uA) is no
/// current that holds a level. Ampere.
constexpr double kConducts = 3e-6;

bool carries(const Observation& seen, int index) {
  const auto& amps = seen.pin_amps[index];
  return std::any_of(amps.begin(), amps.end(),
                     [](double a) { return std::abs(a) > kConducts; });
}

/// The magnitude of a MOS transistor's threshold, or nothing.
std::optional<double> threshold(const Part& part) {
  const MosModel* mos = mos_model(part);
  if (mos == nullptr) return std::nullopt;
  return mos->is_p_channel ? -mos->vto : mos->vto;
}

/// A junction with more than this in reverse blocks. Volt.
constexpr double kReverseVolts = 0.05;

/// Whether a diode, zener or LED joins its nets.
bool junction_joins(const CheckInput& input, const SeenPhase& phase, int index,
                    const JointRules& rules) {
  if (rules.junctions_hold || carries(phase.seen, index)) return true;
  const bool is_led = input.parts[index].kind == KindId::led;
  if (is_led) return rules.leds_hold;
  return rules.diodes_hold &&
         volts_between(input, phase.seen, index, 1, 0) < kReverseVolts;
}

/// Joins what a part holds together: open switches and outputs, inputs and gates do
/// not. A junction that blocks does only as the rules say.
void join_part(const CheckInput& input, const SeenPhase& phase, int index,
               const JointRules& rules, Joints& joints) {
  const Part& part = input.parts[index];
  const bool junctions_hold = rules.junctions_hold;
  switch (part.kind) {
    case KindId::capacitor:
    case KindId::current_source:
      return;
    case KindId::switch_: {
      if (is_closed(phase.phase.state, index)) joints.join(part, 0, 1);
      return;
    }
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
      if (junction_joins(input, phase, index, rules)) joints.join(part, 0, 1);
      return;
    case KindId::transistor:
      if (!junctions_hold && !carries(phase.seen, index)) return;
      joints.join(part, 0, 2);
      joints.join(part, 1, 2);
      return;
    case KindId::mosfet: {
      const auto least = threshold(part);
      const double gate = volts_between(input, phase.seen, index, 0, 2);
      const bool is_on = least && polarity(part) * gate > *least;
      if (junctions_hold || is_on || carries(phase.seen, index))
        joints.join(part, 1, 2);
      return;
    }
    case KindId::controller:
      joints.join(part, 0, 1);
      for (int pin = 2; pin < static_cast<int>(part.pins.size()); ++pin) {
        const auto level = phase.phase.state.outputs.find({index, pin});
        const bool is_open = level != phase.phase.state.outputs.end() &&
                             level->second.level == OutputSetting::Level::open;
        if (is_output_pin(part, pin) && !is_open) joints.join(part, pin, 1);
      }
      return;
    default:
      for (int pin = 1; pin < static_cast<int>(part.pins.size()); ++pin)
        joints.join(part, 0, pin);
  }
}

}  // namespace

Joints::Joints(std::size_t nets) : parent_(nets) {
  std::iota(parent_.begin(), parent_.end(), 0);
}

int Joints::find(int net) {
  while (parent_[net] != net) net = parent_[net] = parent_[parent_[net]];
  return net;
}

bool Joints::are_joined(int net, int other) { return find(net) == find(other); }

void Joints::join(const Part& part, int pin, int other) {
  join(part.nets[pin], part.nets[other]);
}

void Joints::join(int a, int b) {
  if (a >= 0 && b >= 0) parent_[find(a)] = find(b);
}

Joints joints_of(const CheckInput& input, const SeenPhase& phase,
                 const JointRules& rules) {
  Joints joints(input.circuit.nets.size());
  for (const LocalZero& zero : input.circuit.local_zeros) joints.join(zero.net, 0);
  for (int i = 0; i < static_cast<int>(input.parts.size()); ++i) {
    if (i != rules.except) join_part(input, phase, i, rules, joints);
  }
  return joints;
}

bool is_voltage_held(const CheckInput& input, const SeenPhase& phase, int part) {
  const auto& nets = input.parts[part].nets;
  if (nets[0] < 0 || nets[1] < 0) return false;
  Joints joints =
      joints_of(input, phase, {.diodes_hold = true, .leds_hold = true, .except = part});
  return joints.are_joined(nets[0], nets[1]);
}

std::vector<bool> floating_nets(const CheckInput& input, const SeenPhase& phase) {
  Joints joints = joints_of(input, phase, {.diodes_hold = true});
  std::vector<bool> floats(input.circuit.nets.size());
  for (std::size_t net = 1; net < floats.size(); ++net)
    floats[net] = !joints.are_joined(static_cast<int>(net), 0);
  return floats;
}

}  // namespace benchproof
