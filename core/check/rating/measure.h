#pragma once

#include <cmath>
#include <string_view>
#include <vector>

#include "core/circuit/circuit.h"

namespace benchproof {

/// What one part does at one moment: of a state at rest or of a run.
class Moment {
 public:
  virtual ~Moment() = default;
  /// Into the part at a pin. Ampere.
  [[nodiscard]] virtual double amps(int pin) const = 0;
  /// From one pin to another; 0 where one of them is left open. Volt.
  [[nodiscard]] virtual double volts(int pin, int other) const = 0;
  /// What the part takes up. Watt.
  [[nodiscard]] virtual double watts() const = 0;
};

enum class Measured {
  amps,         ///< Into `pin`.
  volts,        ///< From `pin` to `other`.
  watts,        ///< What the part takes up.
  track_watts,  ///< A trimmer's, as if all of its track carried the greater current.
  clamp_amps,   ///< Into `pin` above a chip's vdd, or out of it below its vss.
  total_amps,   ///< What all pins of a chip source, or sink, whichever is more.
  junction,     ///< The temperature that its heat gives the junction. Celsius.
  outside,      ///< That of its case or heat sink. Celsius.
};

/// Which way round a current or voltage counts.
enum class Sense {
  forward,      ///< As it stands.
  out,          ///< The other way round.
  either,       ///< Whichever way round.
  by_polarity,  ///< For PNP, P-channel and negative ones the other way round.
  out_by_polarity,
  by_polarised,  ///< As it stands for a polarised capacitor, else whichever way round.
};

/// What counts of the phases of PWM.
enum class Over {
  highest,
  lowest,   ///< Of those in which the part is on (see Rating::is_on).
  mean,     ///< Their average.
  rms,      ///< The root of the mean square.
  heating,  ///< The average; of a PWM that is slow, or heat in one spot, the highest.
};

/// Which pins of a controller are looked at.
enum class Pins { named, outputs, all };

/// What is measured of a part.
struct Measure {
  Measured what = Measured::amps;
  int pin = 0;
  int other = 1;  ///< Of a voltage.
  Sense sense = Sense::forward;
  Over over = Over::highest;
  /// The average counts where the part has this figure, for which the peaks are another
  /// rating's business; empty: no such rule.
  std::string_view mean_where = {};
  Pins pins = Pins::named;  ///< Else each of these in place of `pin`.
};

/// The pins that are measured one by one: `pin`, but for a controller's.
[[nodiscard]] std::vector<int> pins_of(const Measure& measure, const Part& part);

/// What counts of the phases for a part: the average where it has the figure that asks
/// for that.
[[nodiscard]] Over over_of(const Measure& measure, const Part& part);

/// Reads what is measured of one part at any moment.
class MeasureReader {
 public:
  /// Keeps references to both.
  MeasureReader(const Measure& measure, const Part& part);

  /// At a pin of pins_of.
  /// @pre No temperature is measured: heat takes its time.
  [[nodiscard]] double at(int pin, const Moment& moment) const;

  /// A current or voltage as it is meant: its sign turned, or gone.
  [[nodiscard]] double turned(double value) const {
    return is_sized_ ? std::abs(value) : factor_ * value;
  }

 private:
  const Measure& measure_;
  const Part& part_;
  double factor_ = 1.0;    ///< Of a current or voltage.
  bool is_sized_ = false;  ///< Its sign does not matter.
  double ohms_ = 0.0;      ///< Of a trimmer's track.
};

}  // namespace benchproof
