#pragma once

#include <type_traits>

namespace benchproof {

/// Boltzmann constant and elementary charge as the engine has them built in (CODATA
/// 2014, Rev. Mod. Phys. 88, 035009): both witnesses must solve the same equations to
/// 1e-9, and the exact values of the SI of 2019 differ by 4e-7 in the thermal voltage.
inline constexpr double kBoltzmann = 1.38064852e-23;           ///< Joule per kelvin.
inline constexpr double kElementaryCharge = 1.6021766208e-19;  ///< Coulomb.
inline constexpr double kZeroCelsius = 273.15;                 ///< Kelvin.

/// Conductance across every junction, in both witnesses. Siemens.
inline constexpr double kJunctionLeak = 1e-15;

/// kT/q. Volt.
template <class Number = double>
[[nodiscard]] Number thermal_voltage(std::type_identity_t<Number> celsius) {
  return kBoltzmann * (celsius + kZeroCelsius) / kElementaryCharge;
}

}  // namespace benchproof
