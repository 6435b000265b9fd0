#include "core/check/always/one_nets.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "core/circuit/topology.h"

namespace benchproof {

OneNets::OneNets(const Circuit& circuit, const State& phase, std::vector<int> on)
    : circuit_(circuit), phase_(phase), on_(std::move(on)), one_(circuit.nets.size()) {
  std::iota(one_.begin(), one_.end(), 0);
  for (int k = 0; k < static_cast<int>(circuit.parts.size()); ++k) {
    const Part& part = circuit.parts[k];
    if (is_on(k))
      join(part.nets[1], part.nets[2]);
    else if (is_joint(k))
      join(part.nets[0], part.nets[1]);
    if (part.kind == KindId::controller) join_outputs(k);
  }
}

std::vector<PinRef> OneNets::pins(int one) const {
  std::vector<PinRef> found;
  for (int net = 0; net < static_cast<int>(one_.size()); ++net) {
    if (one_[net] != one) continue;
    for (const PinRef pin : resting_pins(circuit_, net))
      if (!is_joint(pin.part)) found.push_back(pin);
  }
  return found;
}

bool OneNets::is_set(int one) const {
  for (int net = 0; net < static_cast<int>(one_.size()); ++net) {
    if (one_[net] != one) continue;
    if (is_rail(circuit_, net)) return true;
    const auto& pins = circuit_.nets[net].pins;
    if (std::any_of(pins.begin(), pins.end(), [this](PinRef pin) {
          return is_output_pin(circuit_.parts[pin.part], pin.pin);
        }))
      return true;
  }
  return false;
}

bool OneNets::is_on(int part) const {
  return std::find(on_.begin(), on_.end(), part) != on_.end();
}

bool OneNets::is_joint(int part) const {
  const KindId kind = circuit_.parts[part].kind;
  return kind == KindId::wire || kind == KindId::fuse ||
         (kind == KindId::switch_ && is_closed(phase_, part)) || is_on(part);
}

void OneNets::join_outputs(int index) {
  using Level = OutputSetting::Level;
  const Part& chip = circuit_.parts[index];
  for (int pin = kFirstPin; pin < static_cast<int>(chip.pins.size()); ++pin) {
    if (!is_output_pin(chip, pin)) continue;
    const Level level = output(phase_, {index, pin}).level;
    if (level == Level::high) join(chip.nets[pin], chip.nets[kVdd]);
    if (level == Level::low) join(chip.nets[pin], chip.nets[kVss]);
  }
}

void OneNets::join(int a, int b) {
  if (a < 0 || b < 0) return;
  const int from = one_[a];
  std::replace(one_.begin(), one_.end(), from, one_[b]);
}

}  // namespace benchproof
