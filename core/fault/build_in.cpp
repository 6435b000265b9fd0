#include <fmt/format.h>

#include "core/circuit/rewire.h"
#include "core/fault/fault.h"

namespace benchproof {
namespace {

Part& part_of(Circuit& circuit, const Edit& edit) {
  return circuit.parts[static_cast<std::size_t>(edit.a.part)];
}

int net_of(const Circuit& circuit, PinRef pin) {
  return circuit.parts[static_cast<std::size_t>(pin.part)]
      .nets[static_cast<std::size_t>(pin.pin)];
}

void join(Circuit& circuit, int a, int b) {
  if (a < 0 || b < 0 || a == b) return;
  put_between(circuit, a, b, kShortOhms,
              fmt::format("(joint {})", circuit.parts.size()));
}

/// The key's number `times` as much, as described and as states have it.
void scale(Circuit& circuit, const Edit& edit) {
  Part& part = part_of(circuit, edit);
  if (const auto number = number_of(part, edit.key))
    part.settings[edit.key] = {*number * edit.times, part.span};
  for (State& state : circuit.states) {
    const auto found = state.settings.find({edit.a.part, edit.key});
    if (found == state.settings.end()) continue;
    if (auto* number = std::get_if<double>(&found->second.value)) *number *= edit.times;
  }
}

void loosen(Circuit& circuit, const Edit& edit) {
  Part& part = part_of(circuit, edit);
  const double volts = number_of(part, "voltage").value_or(0.0);
  part.settings["regulated"] = {false, part.span};
  part.settings["no_load"] = {volts * edit.times, part.span};
}

}  // namespace

void build_in(Circuit& circuit, const Edit& edit) {
  switch (edit.what) {
    case Edit::What::lift:
      return rejoin(circuit, edit.a, -1);
    case Edit::What::move:
      return rejoin(circuit, edit.a, edit.net);
    case Edit::What::exchange:
      return exchange(circuit, edit.a, edit.b);
    case Edit::What::short_:
      return join(circuit, net_of(circuit, edit.a), net_of(circuit, edit.b));
    case Edit::What::join:
      return join(circuit, edit.net, edit.to);
    case Edit::What::scale:
      return scale(circuit, edit);
    case Edit::What::loosen:
      return loosen(circuit, edit);
    case Edit::What::retype:
      part_of(circuit, edit).type = edit.type;
      for (State& state : circuit.states) state.types.erase(edit.a.part);
      return;
    case Edit::What::hold:
      for (State& state : circuit.states)
        state.outputs[edit.a] = {edit.level, 0.0, 0.0, {}};
      return;
  }
}

void build_in(Circuit& circuit, const Fault& fault) {
  for (const Edit& edit : fault.edits) build_in(circuit, edit);
}

}  // namespace benchproof
