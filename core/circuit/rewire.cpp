#include "core/circuit/rewire.h"

#include <algorithm>

#include "core/circuit/structure_check.h"

namespace benchproof {
namespace {

int& net_of(Circuit& circuit, PinRef pin) {
  return circuit.parts[pin.part].nets[pin.pin];
}

/// What a kind without figures of its own in this circuit takes as usual, of another
/// part of that kind.
const Type* defaults_of(const Circuit& circuit, KindId kind) {
  const auto like =
      std::find_if(circuit.parts.begin(), circuit.parts.end(),
                   [kind](const Part& part) { return part.kind == kind; });
  return like == circuit.parts.end() ? nullptr : like->defaults;
}

}  // namespace

void rejoin(Circuit& circuit, PinRef pin, int net) {
  int& here = net_of(circuit, pin);
  if (here >= 0) std::erase(circuit.nets[here].pins, pin);
  if (net >= 0) circuit.nets[net].pins.push_back(pin);
  here = net;
}

void exchange(Circuit& circuit, PinRef a, PinRef b) {
  const int of_a = net_of(circuit, a);
  const int of_b = net_of(circuit, b);
  rejoin(circuit, a, of_b);
  rejoin(circuit, b, of_a);
}

void put_between(Circuit& circuit, int a, int b, double ohms, const std::string& name) {
  const auto index = static_cast<int>(circuit.parts.size());
  Part resistor;
  resistor.name = name;
  resistor.kind = KindId::resistor;
  resistor.defaults = defaults_of(circuit, KindId::resistor);
  resistor.pins = {"a", "b"};
  resistor.nets = {-1, -1};
  resistor.settings["value"] = {ohms, {}};
  circuit.parts.push_back(std::move(resistor));
  rejoin(circuit, {index, 0}, a);
  rejoin(circuit, {index, 1}, b);
}

void put_in_series(Circuit& circuit, PinRef pin, double ohms, const std::string& name) {
  const int net = net_of(circuit, pin);
  const auto between = static_cast<int>(circuit.nets.size());
  circuit.nets.push_back({name, {}, circuit.parts[pin.part].span});
  rejoin(circuit, pin, between);
  put_between(circuit, net, between, ohms, name);
}

bool has_two_poles(const Part& part) {
  switch (part.kind) {
    case KindId::diode:
    case KindId::zener:
    case KindId::led:
    case KindId::dc_supply:
    case KindId::battery:
    case KindId::controller:
      return true;
    case KindId::capacitor:
      return flag(part, "polarised", false);
    default:
      return false;
  }
}

bool settle_wiring(Circuit& circuit) {
  circuit.local_zeros = local_zeros(circuit);
  return check_structure(circuit).empty();
}

}  // namespace benchproof
