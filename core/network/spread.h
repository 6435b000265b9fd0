#pragma once

#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/network/network.h"

namespace benchproof {

/// How far a regulated supply may be from its label. Common practice, no source.
inline constexpr double kSupplySpread = 0.05;

/// How far base-emitter voltages of one type lie from the middle of its copies: 0.58 V
/// to 0.70 V (NXP BC847, table 7). Ranges published of saturated transistors are
/// wider, for they cover what a maker will not promise. Common practice for all types.
inline constexpr double kBaseSpreadVolts = 0.06;

/// How much less than another a diode has beside it: 50 mV by its copy, and as much
/// because it gets warmer with what it takes. Common practice, no source.
inline constexpr double kDiodeSpreadVolts = 0.1;

/// What copies of a type differ by, what is likely to be the cause first.
enum class SpreadFigure { gain, threshold, zener, output, lamp, diode, base, supply };

/// One end of what copies of a part differ by.
struct SpreadEnd {
  int part = 0;
  SpreadFigure figure = SpreadFigure::supply;
  bool is_most = false;
  double value = 0.0;         ///< There; of lamps, diodes, bases a difference. Volt.
  bool is_published = false;  ///< Else common practice.
};

/// The ends of all parts of which something is known, `parts` as a state has them.
/// Only what a type says counts: a figure of the description is that very copy's. In
/// the order of SpreadFigure.
[[nodiscard]] std::vector<SpreadEnd> spread_ends(const std::vector<Part>& parts);

/// What a copy at that end has: "with a supply 5 % below its label".
[[nodiscard]] std::string spread_words(const Part& part, const SpreadEnd& end);

/// Takes the part's elements to its end.
void put_spread(const std::vector<Part>& parts, const SpreadEnd& end, Network& network);

/// The forward voltage of a diode's or LED's model at a current, at the temperature of
/// its figures. Volt.
[[nodiscard]] double forward_volts(const DiodeModel& model, double amps);

/// The voltage that an LED has less than usual where it is the least of its type: by
/// what is published, or by kLampSpreadVolts.
[[nodiscard]] double least_lamp_volts(const Part& led, const DiodeModel& model);

}  // namespace benchproof
