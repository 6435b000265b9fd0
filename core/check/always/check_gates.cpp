#include <fmt/format.h>

#include <algorithm>

#include "core/catalogue/pins.h"
#include "core/check/always/always.h"
#include "core/check/finding/wording.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr Explanation kAboutGates[] = {
    {"gate-floats", "a gate that nothing holds while its controller starts",
     "a gate that only outputs drive, straight or through one resistor, with no "
     "resistor to a rail: caution where the transistor switches a load of 0.2 A and "
     "more, else a note",
     "common practice, no source (practice)",
     "until its program runs a controller's pins are open: the gate keeps any charge, "
     "and "
     "the transistor may be half on and get hot",
     "a resistor of 10 kohm to 100 kohm from the gate to the rail at which it is off"},
};

/// What drives a gate, and whether something holds it without that.
struct Drive {
  PinRef output;
  bool is_held = false;
};

void look_at_net(const Circuit& circuit, int net, int transistor, Drive& drive,
                 std::vector<int>& further) {
  for (const PinRef pin : resting_pins(circuit, net)) {
    const Part& part = circuit.parts[pin.part];
    if (pin.part == transistor) continue;
    if (is_output_pin(part, pin.pin)) {
      drive.output = pin;
    } else if (part.kind == KindId::resistor) {
      const int far = other_net(part, net);
      if (far >= 0 && is_rail(circuit, far))
        drive.is_held = true;
      else if (far >= 0)
        further.push_back(far);
    } else if (part.kind != KindId::mosfet || pin.pin != kGate) {
      drive.is_held = true;
    }
  }
}

Drive drive_of(const Circuit& circuit, int index) {
  Drive drive;
  std::vector<int> further;
  const int gate = circuit.parts[index].nets[kGate];
  if (gate < 0 || is_rail(circuit, gate)) return drive;
  look_at_net(circuit, gate, index, drive, further);
  std::vector<int> none;
  for (const int net : further) look_at_net(circuit, net, index, drive, none);
  return drive;
}

/// The rated current of the largest load at the drain. Ampere.
double load_amps(const Circuit& circuit, const Part& transistor) {
  double most = 0.0;
  if (transistor.nets[kDrain] < 0) return most;
  for (const PinRef pin : circuit.nets[transistor.nets[kDrain]].pins) {
    const Part& part = circuit.parts[pin.part];
    if (is_load(part.kind))
      most = std::max(most, number_of(part, "current").value_or(0.0));
  }
  return most;
}

}  // namespace

std::vector<Finding> check_gates(const Circuit& circuit) {
  constexpr double kMuch = 0.2;
  std::vector<Finding> findings;
  for (std::size_t k = 0; k < circuit.parts.size(); ++k) {
    const Part& part = circuit.parts[k];
    if (part.kind != KindId::mosfet) continue;
    const Drive drive = drive_of(circuit, static_cast<int>(k));
    if (drive.is_held || drive.output.part < 0) continue;
    const Part& chip = circuit.parts[drive.output.part];
    Finding finding = about(
        part, load_amps(circuit, part) < kMuch ? Severity::note : Severity::caution,
        CheckId(kAboutGates, "gate-floats"));
    finding.source =
        "common practice, no source (a pin is open until the program runs)";
    finding.message = fmt::format(
        "nothing holds the gate of '{}' until '{}' drives its pin '{}': it may be half "
        "on while the program starts, or is loaded; lead 10 kohm to 100 kohm from the "
        "gate to the rail at which it is off",
        part.name, chip.name, chip.pins[drive.output.pin]);
    findings.push_back(std::move(finding));
  }
  return findings;
}

std::span<const Explanation> explain_gates() { return kAboutGates; }

}  // namespace benchproof
