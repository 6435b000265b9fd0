#pragma once

#include <memory>
#include <string>

#include "core/network/network.h"

namespace benchproof::test {

/// A network put together element by element, without a description: for circuits that
/// have a closed form. Nodes are numbers, 0 is ground; SI units.
struct HandNetwork {
  Structure structure;
  Values values;
  double celsius = 27.0;

  explicit HandNetwork(int nodes) {
    for (int n = 0; n < nodes; ++n)
      structure.nodes.push_back(n == 0 ? "ground" : "node_" + std::to_string(n));
    structure.nets = nodes;
  }
  void resistor(int a, int b, double ohms) {
    structure.resistors.push_back({a, b, {}});
    values.ohms.push_back(ohms);
  }
  void capacitor(int a, int b, double farads) {
    structure.capacitors.push_back({a, b, {}});
    values.farads.push_back(farads);
  }
  void inductor(int a, int b, double henries) {
    structure.inductors.push_back({a, b, {}});
    values.coils.push_back({henries});
  }
  void voltage_source(int plus, int minus, double volts) {
    structure.voltage_sources.push_back({plus, minus, {}});
    values.volts.push_back(volts);
  }
  /// `amps` leave at `plus` into the circuit.
  void current_source(int plus, int minus, double amps) {
    structure.current_sources.push_back({plus, minus, {}});
    values.amps.push_back(amps);
  }
  void diode(int anode, int cathode, const DiodeModel& model) {
    structure.diodes.push_back({anode, cathode, {}});
    values.diodes.push_back(model);
  }
  void bipolar(int collector, int base, int emitter, const BipolarModel& model) {
    structure.bipolars.push_back({{collector, base, emitter}, {}});
    values.bipolars.push_back(model);
  }
  void mosfet(int drain, int gate, int source, const MosModel& model) {
    structure.mosfets.push_back({{drain, gate, source}, {}});
    values.mosfets.push_back(model);
  }
  void regulator(int in, int common, int out, const RegulatorModel& model) {
    structure.regulators.push_back({{in, common, out}, {}});
    values.regulators.push_back(model);
  }
  [[nodiscard]] Network network() const {
    return {std::make_shared<const Structure>(structure), values, celsius};
  }
};

}  // namespace benchproof::test
