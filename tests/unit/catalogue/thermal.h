#pragma once

namespace benchproof {

/// kT/q at 25 C with the CODATA 2014 constants that the engine has built in. Volt.
inline constexpr double kVt = 1.38064852e-23 * 298.15 / 1.6021766208e-19;

}  // namespace benchproof
