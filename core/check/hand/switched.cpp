#include "core/check/hand/switched.h"

#include "core/circuit/topology.h"

namespace benchproof {

std::optional<Chain> switched_load(const Wiring& wiring, int transistor, double sign) {
  const int net = wiring.parts[transistor].nets[kHigh];
  if (net < 0 || is_end(wiring.circuit, net)) return std::nullopt;
  int guard = -1;
  const auto pins = resting_pins(wiring.circuit, net);
  if (pins.size() == 3) {
    for (const PinRef pin : pins) {
      // Its anode is where the switch draws down, its cathode where it draws up.
      const int blocking = sign > 0.0 ? 0 : 1;
      if (wiring.parts[pin.part].kind == KindId::diode && pin.pin == blocking)
        guard = pin.part;
    }
    if (guard < 0) return std::nullopt;
  }
  const auto way = walk(wiring, {transistor, kHigh}, guard);
  if (!way || way->steps.empty()) return std::nullopt;
  if (guard >= 0 && other_net(wiring.parts[guard], net) != way->end)
    return std::nullopt;
  // Into an NPN's collector the current comes from the load, against the walk.
  return load_of(wiring, *way, sign < 0.0);
}

std::optional<double> drop_sum(const Wiring& wiring, const Chain& chain) {
  const auto drops = drops_of(wiring, chain);
  if (!drops) return std::nullopt;
  double sum = 0.0;
  for (const Figure& drop : *drops) sum += drop.value;
  return sum;
}

}  // namespace benchproof
