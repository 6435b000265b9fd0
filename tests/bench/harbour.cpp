#include "tests/bench/harbour.h"

#include <stdexcept>
#include <string>
#include <utility>

namespace benchproof::bench {
namespace {

// Round figures of the kinds of parts, invented for this purpose.
DiodeModel led() {
  DiodeModel m;
  m.is = 1e-18;
  m.n = 2.0;
  m.rs = 3.0;
  m.bv = 5.0;
  m.ibv = 1e-5;
  return m;
}
DiodeModel guard() {
  DiodeModel m;
  m.is = 1e-6;
  m.n = 1.05;
  m.rs = 0.05;
  m.eg = 0.69;
  m.xti = 2.0;
  return m;
}
BipolarModel npn() {
  BipolarModel m;
  m.is = 2e-14;
  m.bf = 250.0;
  m.br = 4.0;
  m.vaf = 80.0;
  return m;
}

/// Collects nodes and elements.
struct Builder {
  Structure structure;
  Values values;

  int node() {
    structure.nodes.push_back("n" + std::to_string(structure.nodes.size()));
    return static_cast<int>(structure.nodes.size()) - 1;
  }
  void resistor(int a, int b, double ohms) {
    structure.resistors.push_back({a, b, {}});
    values.ohms.push_back(ohms);
  }
  void diode(int anode, int cathode, const DiodeModel& model) {
    structure.diodes.push_back({anode, cathode, {}});
    values.diodes.push_back(model);
  }
};

}  // namespace

Network harbour(int nets) {
  constexpr int kSupplyNets = 3;
  constexpr int kStationNets = 5;
  constexpr int kGround = 0;
  if (nets <= kSupplyNets) throw std::invalid_argument("a harbour has 4 nets at least");
  constexpr double kLedOhms[] = {330.0, 470.0, 680.0, 1000.0};

  Builder b;
  b.structure.nodes = {"ground"};
  const int inlet = b.node();
  const int raw = b.node();
  const int rail = b.node();
  b.structure.voltage_sources.push_back({inlet, kGround, {}});
  b.values.volts.push_back(12.0);
  b.diode(inlet, raw, guard());
  b.structure.regulators.push_back({{raw, kGround, rail}, {}});
  RegulatorModel regulator;
  regulator.limit = 2.0;
  regulator.quiescent = 5e-3;
  regulator.resistance = 0.05;
  regulator.line = 1e-3;
  regulator.line_reference = 10.0;
  b.values.regulators.push_back(regulator);

  const int left = nets - kSupplyNets;
  for (int k = 0; k < left / kStationNets; ++k) {
    const double ohms = kLedOhms[k % 4];
    const int lamp = b.node();
    b.resistor(rail, lamp, ohms);
    b.diode(lamp, kGround, led());
    const int tap = b.node();
    b.resistor(rail, tap, 10e3);
    b.resistor(tap, kGround, 22e3);
    const int base = b.node();
    b.resistor(tap, base, 4700.0);
    const int anode = b.node();
    b.resistor(raw, anode, 2.2 * ohms);
    const int collector = b.node();
    b.diode(anode, collector, led());
    b.structure.bipolars.push_back({{collector, base, kGround}, {}});
    b.values.bipolars.push_back(npn());
  }
  for (int k = 0; k < left % kStationNets; ++k) {
    const int lamp = b.node();
    b.resistor(rail, lamp, kLedOhms[k % 4]);
    b.diode(lamp, kGround, led());
  }
  b.structure.nets = static_cast<int>(b.structure.nodes.size());
  return {std::make_shared<const Structure>(std::move(b.structure)),
          std::move(b.values), 25.0};
}

Network with_one_change(Network network, std::size_t resistor) {
  network.values.ohms.at(resistor) *= 1.05;
  return network;
}

}  // namespace benchproof::bench
