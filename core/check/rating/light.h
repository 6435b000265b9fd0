#pragma once

#include <optional>

#include "core/circuit/circuit.h"

namespace benchproof {

/// What an LED or filament lamp gives its full light at: of an LED its rated current,
/// of a filament lamp its rated power.
class Lamp {
 public:
  /// Nothing where the part gives no light, or where its rating is not known.
  [[nodiscard]] static std::optional<Lamp> of(const Part& part);

  /// The light as a share of the full one, at an average current (ampere) and power
  /// (watt). That of an LED goes with its current; that of a filament with the 2.2nd
  /// power of what it takes up (from memory: makers give the 3.4th to 3.6th power of
  /// the voltage, at 1.55 to 1.6 for the power).
  [[nodiscard]] double light(double amps, double watts) const;

 private:
  bool is_filament_ = false;
  double rated_ = 1.0;  ///< Ampere, or watt.
};

/// The light of a part as a share of the full one; nothing where it is no lamp.
[[nodiscard]] std::optional<double> light_share(const Part& part, double amps,
                                                double watts);

}  // namespace benchproof
