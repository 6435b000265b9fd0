#pragma once

#include <string>

#include "core/circuit/circuit.h"

namespace benchproof {

// How a circuit that was read is wired otherwise. Nothing else of it changes.

/// Takes a pin off its net, if it is on one, and puts it onto another.
void rejoin(Circuit& circuit, PinRef pin, int net);

/// Lets two pins stand where the other one stood.
void exchange(Circuit& circuit, PinRef a, PinRef b);

/// Puts a resistor between two nets; it becomes the last part.
void put_between(Circuit& circuit, int a, int b, double ohms, const std::string& name);

/// Puts a resistor between a pin and the net that it is on. The net and the part that
/// come new are the last ones; `name` is that of both.
void put_in_series(Circuit& circuit, PinRef pin, double ohms, const std::string& name);

/// Whether a part has two poles that can be taken for each other: a diode of any kind,
/// a source with its plus and minus, a controller's supply, a polarised capacitor.
[[nodiscard]] bool has_two_poles(const Part& part);

/// Works out what follows from the wiring. Whether the circuit can be solved (see
/// check_structure).
[[nodiscard]] bool settle_wiring(Circuit& circuit);

}  // namespace benchproof
