#include "core/check/hand/charging.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// A capacitor's own resistance above this share of what charges it no longer counts
/// as none. Common practice, no source.
constexpr double kEsrShare = 1e-2;

std::optional<Charging> charging_from(const Wiring& wiring, int index, int pin) {
  const Part& part = wiring.parts[index];
  Charging c;
  c.capacitor = index;
  c.net = part.nets[pin];
  c.far = part.nets[1 - pin];
  if (c.net < 0 || c.far < 0 || c.net == c.far) return std::nullopt;
  if (is_end(wiring.circuit, c.net) || !is_end(wiring.circuit, c.far))
    return std::nullopt;
  const auto working = working_pins(wiring, c.net);
  if (working.size() != 1) return std::nullopt;
  const auto& all = wiring.circuit.nets[c.net].pins;
  const auto capacitors = std::count_if(all.begin(), all.end(), [&](PinRef p) {
    return wiring.parts[p.part].kind == KindId::capacitor;
  });
  if (capacitors != 1) return std::nullopt;
  const PinRef first = working.front();
  const Part& resistor = wiring.parts[first.part];
  if (!is_resistor(resistor)) return std::nullopt;
  const auto way = walk(wiring, {first.part, 1 - first.pin});
  if (!way) return std::nullopt;
  for (const int net : way->between) {
    for (const PinRef p : wiring.circuit.nets[net].pins)
      if (wiring.parts[p.part].kind == KindId::capacitor) return std::nullopt;
  }
  c.ohms = {*ohms_of(wiring, first.part)};
  for (const Walk::Step& step : way->steps) {
    const Part& passed = wiring.parts[step.part];
    const bool is_fixed = is_resistor(passed) || passed.kind == KindId::fuse ||
                          passed.kind == KindId::switch_ || passed.kind == KindId::wire;
    if (!is_fixed) return std::nullopt;
    c.ohms.push_back(*ohms_of(wiring, step.part));
  }
  if (way->has_output) c.ohms.push_back(way->output_ohms);
  c.has_output = way->has_output;
  for (const double ohms : c.ohms) c.total_ohms += ohms;
  c.drive = way->end;
  c.farads = figure(part, "value")->value;
  const auto esr = figure(part, "esr");
  if (esr && esr->value > kEsrShare * c.total_ohms) return std::nullopt;
  return c;
}

}  // namespace

std::optional<Charging> charging_at(const Wiring& wiring, int capacitor) {
  if (wiring.parts[capacitor].kind != KindId::capacitor) return std::nullopt;
  for (const int pin : {0, 1})
    if (auto charging = charging_from(wiring, capacitor, pin)) return charging;
  return std::nullopt;
}

std::string tau_formula(const Charging& charging) {
  return charging.has_output ? "(R + Rout) C" : "R C";
}

std::string tau_numbers(const Charging& charging) {
  return fmt::format("{} {}", bracketed(charging.ohms, Unit::ohm),
                     hand_text(charging.farads, Unit::farad));
}

}  // namespace benchproof
