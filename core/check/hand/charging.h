#pragma once

#include <optional>

#include "core/check/hand/wiring.h"

namespace benchproof {

/// A capacitor that is charged through resistors, and nothing else at its net.
struct Charging {
  int capacitor = -1;
  int net = -1;    ///< Between it and the resistors.
  int far = -1;    ///< The end that it stands on.
  int drive = -1;  ///< The end that the resistors come from.
  double farads = 0.0;
  std::vector<double> ohms;  ///< With an output's, last.
  double total_ohms = 0.0;
  bool has_output = false;
  [[nodiscard]] double tau() const { return total_ohms * farads; }
};

/// Where a capacitor stands so: one end on a net of known voltage, at the other nothing
/// that carries current but a chain of resistances without other capacitors on it.
/// What only listens there is for the caller to judge (see are_listeners_idle).
[[nodiscard]] std::optional<Charging> charging_at(const Wiring& wiring, int capacitor);

/// "R C" or "(R + Rout) C", and its numbers without the result.
[[nodiscard]] std::string tau_formula(const Charging& charging);
[[nodiscard]] std::string tau_numbers(const Charging& charging);

}  // namespace benchproof
