#include "core/network/edits.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <set>
#include <string_view>
#include <utility>

#include "core/circuit/topology.h"
#include "core/device/coil.h"
#include "core/device/constants.h"
#include "core/network/spread.h"

namespace benchproof {

Network softened(Network network, double emission) {
  const auto soften = [emission](double& n) {
    if (n < kLeastRealEmission) n = std::max(n, emission);
  };
  for (DiodeModel& m : network.values.diodes) soften(m.n);
  for (BipolarModel& m : network.values.bipolars) {
    soften(m.nf);
    soften(m.nr);
  }
  return network;
}

Network powered_down(const Circuit& circuit, Network network) {
  const auto zero = [&circuit](const std::vector<TwoEnds>& elements,
                               std::vector<double>& values) {
    for (std::size_t k = 0; k < elements.size(); ++k) {
      if (is_source(circuit.parts[elements[k].origin.part].kind)) values[k] = 0.0;
    }
  };
  zero(network.structure->voltage_sources, network.values.volts);
  zero(network.structure->current_sources, network.values.amps);
  return network;
}

namespace {

/// The key of the resistance with which an element, one end of which is a chip's supply
/// or common pin and the other one of its outputs, drives that output in a state; empty
/// for every other element.
std::string_view driving_key(const Circuit& circuit, const State& state,
                             const Origin& origin) {
  if (origin.part < 0) return {};
  const Part& part = circuit.parts[origin.part];
  if (part.kind != KindId::controller) return {};
  const bool is_up = origin.pins[0] == kVdd;
  const int pin = is_up ? origin.pins[1] : origin.pins[0];
  if ((!is_up && origin.pins[1] != kVss) || pin < kFirstPin) return {};
  if (!is_output_pin(part, pin)) return {};
  const auto level = output(state, {origin.part, pin}).level;
  if (is_up)
    return level == OutputSetting::Level::high ? "resistance_high" : std::string_view();
  return level == OutputSetting::Level::low ? "resistance_low" : std::string_view();
}

}  // namespace

std::optional<Network> with_strong_pins(const Circuit& circuit, const State& state,
                                        const Network& network) {
  std::optional<Network> strong;
  const std::vector<TwoEnds>& resistors = network.structure->resistors;
  for (std::size_t k = 0; k < resistors.size(); ++k) {
    const std::string_view key = driving_key(circuit, state, resistors[k].origin);
    if (key.empty() || network.values.ohms[k] <= kStrongOhms) continue;
    const int part = resistors[k].origin.part;
    const bool is_told =
        circuit.parts[part].settings.find(key) != circuit.parts[part].settings.end() ||
        state.settings.contains({part, std::string(key)});
    if (is_told) continue;
    if (!strong) strong = network;
    strong->values.ohms[k] = kStrongOhms;
  }
  return strong;
}

Network with_least_lamps(const std::vector<Part>& parts, Network network) {
  const std::vector<TwoEnds>& diodes = network.structure->diodes;
  for (std::size_t k = 0; k < diodes.size(); ++k) {
    const Part& part = parts[diodes[k].origin.part];
    DiodeModel& m = network.values.diodes[k];
    if (part.kind != KindId::led || m.n < kLeastRealEmission) continue;
    m.is *= std::exp(least_lamp_volts(part, m) / (m.n * thermal_voltage(m.tnom)));
  }
  return network;
}

Network network_at(const Timeline& timeline, double seconds) {
  Network network = timeline.network;
  set_values(network.values, timeline, seconds);
  return network;
}

Network charged_at_start(const Timeline& timeline) {
  Network network = network_at(timeline, 0.0);
  auto structure = std::make_shared<Structure>(*network.structure);
  for (std::size_t k = 0; k < structure->capacitors.size(); ++k) {
    structure->voltage_sources.push_back(structure->capacitors[k]);
    network.values.volts.push_back(timeline.capacitor_volts.at(k));
  }
  for (std::size_t k = 0; k < structure->inductors.size(); ++k) {
    const TwoEnds& e = structure->inductors[k];
    const CoilAt c = at(network.values.coils[k]);
    // What a source delivers enters the circuit at its first end.
    structure->current_sources.push_back({e.b, e.a, e.origin});
    network.values.amps.push_back(c.share * timeline.inductor_amps.at(k));
    if (c.siemens == 0.0) continue;
    structure->resistors.push_back(e);
    network.values.ohms.push_back(1.0 / c.siemens);
  }
  structure->capacitors.clear();
  structure->inductors.clear();
  network.values.farads.clear();
  network.values.coils.clear();
  network.structure = std::move(structure);
  return network;
}

Network emptied(const std::vector<Part>& parts, Network network,
                const std::vector<std::size_t>& capacitors) {
  auto structure = std::make_shared<Structure>(*network.structure);
  std::set<std::pair<int, int>> held;
  double farads = 0.0;
  for (const std::size_t k : capacitors) {
    const TwoEnds& capacitor = structure->capacitors[k];
    farads += network.values.farads[k];
    if (!held.insert(std::minmax({capacitor.a, capacitor.b})).second) continue;
    structure->voltage_sources.push_back(capacitor);
    network.values.volts.push_back(0.0);
  }
  for (std::size_t k = 0; k < structure->inductors.size(); ++k) {
    CoilModel& coil = network.values.coils[k];
    if (parts[structure->inductors[k].origin.part].kind == KindId::inductor)
      coil.ohms += std::sqrt(coil.henries / farads);
  }
  structure->capacitors.clear();
  structure->strays.clear();
  network.values.farads.clear();
  network.values.stray_farads.clear();
  network.structure = std::move(structure);
  return network;
}

Network with_cold_lamps(const std::vector<Part>& parts, Network network) {
  const std::vector<TwoEnds>& resistors = network.structure->resistors;
  for (std::size_t k = 0; k < resistors.size(); ++k) {
    const int index = resistors[k].origin.part;
    if (index < 0 || parts[index].kind != KindId::lamp) continue;
    const auto start = number_of(parts[index], "start_current");
    if (start)
      network.values.ohms[k] =
          number_of(parts[index], "voltage").value_or(1.0) / *start;
  }
  return network;
}

Network with_probe(Network network, int a, int b) {
  auto structure = std::make_shared<Structure>(*network.structure);
  structure->current_sources.push_back({a, b, {}});
  network.structure = std::move(structure);
  network.values.amps.push_back(0.0);
  return network;
}

}  // namespace benchproof
