#pragma once

#include <optional>
#include <string>

#include "core/check/finding/finding.h"
#include "core/check/rating/borne.h"
#include "core/circuit/circuit.h"

namespace benchproof {

// What diodes and LEDs bear beyond their lasting current. One curve each, in amperes:
// up to a second a surge or pulse rating says how it goes, from there it falls straight
// to the lasting current at 10 s. Stretches up to a second are held against the first
// part of it, longer ones against the second.

/// What is above a rating for less is made up by semiconductors' models, which switch
/// in no time. Second.
inline constexpr double kShortestStrain = 1e-6;

/// Where the two parts meet. Second.
inline constexpr double kShortOverload = 1.0;

/// No maker says anything of peaks above so many times a rectifier's surge rating:
/// bond wires and solder. Common practice, no source.
inline constexpr double kMostSurges = 10.0;

/// An LED may go so far past a current that is typical of its class (see Figure): the
/// sheets of standard LEDs allow 25 mA at least where the class has 20 mA
/// (reference/parts/leds.toml).
inline constexpr double kTypicalRoom = 1.25;

/// What a diode bears for up to a second, by RMS current, in times its `surge`.
///
/// A surge rating of a half sine: the same I2t as the half sine has (surge^2 * time /
/// 2), which makers publish from 1 ms on; below it the same, up to kMostSurges (common
/// practice, no source). Longer ones: a sixth of it RMS over a second, a third as the
/// peak of half sines (makers' curves over the number of cycles, from memory).
///
/// One of a rectangle: below it by the slope of small signal diodes' sheets (4 A for 1
/// us, 1 A for 1 ms, 0.5 A for 1 s, from memory), straight on to 10 s beyond it.
/// @pre The diode has a `surge`.
[[nodiscard]] Endurance surge_endurance(const Part& diode);

/// Whether what a diode bears for a time is an I2t, the same for all such times.
[[nodiscard]] bool by_energy(const Part& diode, double seconds);

/// What an LED bears for up to a second, by mean current, in times its `pulse`: all of
/// it up to `pulse_time`.
/// @pre The LED has a `pulse` and its `pulse_time`.
[[nodiscard]] Endurance pulse_endurance(const Part& led);

/// What a diode or LED bears of its lasting current or heat, in times that: the second
/// part of its curve. Without a surge or pulse rating the usual curve of small
/// junctions, for LEDs five times for 0.1 ms.
[[nodiscard]] Endurance lasting_endurance(const Part& part);

/// What an LED carries above its lasting current.
struct Pulses {
  double amps = 0.0;       ///< At most.
  double seconds = 0.0;    ///< The longest.
  double duty = 0.0;       ///< The largest share of the time ...
  double duty_amps = 0.0;  ///< ... and what they carry on average there.
  double strain = 0.0;     ///< Over what the LED bears for as long (pulse_endurance).
};

/// By what pulses are past a pulse rating.
struct PulseExcess {
  bool is_high = false;
  bool is_long = false;
  bool is_frequent = false;
  /// Of what is to be told. A fault: too high; or too long or too frequent by more than
  /// a quarter, and above the straight line (on logarithmic scales) from the pulse
  /// rating to the lasting current, at 10 s or all of the time.
  std::optional<Severity> severity;
};

/// @pre The LED has `current` and `pulse`. Time and duty count where they are known.
[[nodiscard]] PulseExcess excess_of(const Part& led, const Pulses& pulses);

/// The share that a pulse of a length makes of what the LED bears for so long; 0 for
/// one that is not longer than its rating by a quarter, or where that is not known.
[[nodiscard]] double pulse_strain(const Part& led, double amps, double seconds);

/// Puts into a finding what is furthest past the rating, and the words for all of it,
/// without what to do.
void tell_excess(const Part& led, const Pulses& pulses, const PulseExcess& excess,
                 Finding& finding);

}  // namespace benchproof
