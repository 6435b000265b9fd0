#include "core/draw/detail/items.h"

#include <algorithm>
#include <cstddef>
#include <utility>

#include "core/circuit/topology.h"

namespace benchproof {

MainPins main_pins(const Part& part) {
  switch (part.kind) {
    case KindId::transistor: {  // base collector emitter
      return polarity(part) < 0 ? MainPins{2, 1, 0} : MainPins{1, 2, 0};
    }
    case KindId::mosfet:  // gate drain source
      return polarity(part) < 0 ? MainPins{2, 1, 0} : MainPins{1, 2, 0};
    case KindId::trimmer:  // a wiper b
      return {0, 2, 1};
    case KindId::regulator:  // in, common or adjust, out
      return polarity(part) < 0 ? MainPins{2, 0, 1} : MainPins{0, 2, 1};
    default:
      return {0, 1, -1};
  }
}

namespace {

bool is_main_pin(const Part& part, int pin) {
  if (part.kind == KindId::controller) return false;
  const MainPins pins = main_pins(part);
  return pin == pins.first || pin == pins.second;
}

bool is_bar_net(const Circuit& circuit, int index) {
  const Net& net = circuit.nets[index];
  if (net.pins.size() != 2 || is_zero(circuit, index)) return true;
  if (net.pins[0].part == net.pins[1].part) return true;
  return std::any_of(net.pins.begin(), net.pins.end(), [&](const PinRef& ref) {
    const Part& part = circuit.parts[ref.part];
    return is_source(part.kind) || !is_main_pin(part, ref.pin);
  });
}

/// A part as it is entered from one of its nets.
ItemPart entered(const Part& part, int index, int pin) {
  const MainPins pins = main_pins(part);
  const int other = pin == pins.first ? pins.second : pins.first;
  return {index, pin, other, pins.side};
}

/// Follows a chain of parts downwards from a part's pin, up to a bar.
Item chain_from(const Circuit& circuit, const std::vector<bool>& is_bar, int first,
                int pin, std::vector<bool>& is_taken) {
  Item item;
  item.top_net = circuit.parts[first].nets[pin];
  int part = first;
  while (true) {
    is_taken[part] = true;
    item.elements.push_back(entered(circuit.parts[part], part, pin));
    const int net = circuit.parts[part].nets[item.elements.back().bottom_pin];
    item.bottom_net = net;
    if (net < 0 || is_bar[net]) return item;
    const auto& pins = circuit.nets[net].pins;
    const PinRef next = pins[0].part == part ? pins[1] : pins[0];
    if (is_taken[next.part]) return item;
    item.inner_nets.push_back(net);
    part = next.part;
    pin = next.pin;
  }
}

Item block_of(const Part& part, int index) {
  Item item;
  item.is_block = true;
  item.elements.push_back({index, kVdd, kVss, -1});
  item.top_net = part.nets[kVdd];
  item.bottom_net = part.nets[kVss];
  for (int pin = kFirstPin; pin < static_cast<int>(part.pins.size()); ++pin)
    item.sides.push_back({pin, part.nets[pin], is_output_pin(part, pin)});
  return item;
}

/// Whether one of a part's main pins is at a bar or open; which one, or -1.
int pin_at_bar(const Part& part, const std::vector<bool>& is_bar) {
  const MainPins pins = main_pins(part);
  for (const int pin : {pins.first, pins.second})
    if (part.nets[pin] < 0 || is_bar[part.nets[pin]]) return pin;
  return -1;
}

}  // namespace

Items make_items(const Circuit& circuit) {
  Items made;
  for (std::size_t net = 0; net < circuit.nets.size(); ++net)
    made.is_bar.push_back(is_bar_net(circuit, static_cast<int>(net)));
  std::vector<bool> is_taken(circuit.parts.size(), false);
  const auto take_all = [&] {
    for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
      const Part& part = circuit.parts[k];
      const int index = static_cast<int>(k);
      if (is_taken[k]) continue;
      if (part.kind == KindId::controller) {
        is_taken[k] = true;
        made.items.push_back(block_of(part, index));
        continue;
      }
      const int pin = pin_at_bar(part, made.is_bar);
      if (pin >= 0)
        made.items.push_back(chain_from(circuit, made.is_bar, index, pin, is_taken));
    }
  };
  take_all();
  // What is left stands in rings without a bar: each is opened at one of its nets.
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    if (is_taken[k]) continue;
    made.is_bar[circuit.parts[k].nets[main_pins(circuit.parts[k]).first]] = true;
    take_all();
  }
  return made;
}

void turn_over(Item& item) {
  std::reverse(item.elements.begin(), item.elements.end());
  std::reverse(item.inner_nets.begin(), item.inner_nets.end());
  for (ItemPart& element : item.elements)
    std::swap(element.top_pin, element.bottom_pin);
  std::swap(item.top_net, item.bottom_net);
}

}  // namespace benchproof
