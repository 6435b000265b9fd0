#pragma once

#include <optional>

#include "core/check/rating/ratings.h"
#include "core/check/rest/check_input.h"

namespace benchproof {

/// Below this frequency a small part's temperature follows each pulse, so that the
/// average no longer says how hot it gets. Common practice, no source.
inline constexpr double kSlowHertz = 10.0;

/// A value over the phases of a state.
struct PhasesValue {
  double value = 0.0;
  int phase = -1;  ///< Index of the phase that has it; -1: it is of all of them.
};

/// The power that heats a part: the average over a fast PWM, the highest phase of one
/// slower than kSlowHertz. Watt.
[[nodiscard]] PhasesValue heating(const CheckInput& input, int part);

/// Reads what counts of a part against a rating, at a pin of pins_of, of any number of
/// inputs of one state: what does not differ between them is worked out once.
class RatingReader {
 public:
  /// Of the first input. Its parts must outlive it, and `rating`.
  RatingReader(const CheckInput& input, int part, const Rating& rating, int pin,
               Over over);

  /// Nothing where it is not known, or the part is off.
  [[nodiscard]] std::optional<PhasesValue> read(const CheckInput& input) const;

 private:
  [[nodiscard]] std::optional<PhasesValue> temperature(const CheckInput& input) const;
  [[nodiscard]] double at(const CheckInput& input, const Observation& seen) const;

  const Rating& rating_;
  int part_;
  int pin_;
  Over over_;
  bool is_slow_;                           ///< See heating().
  std::optional<MeasureReader> meter_;             ///< None of a temperature.
  std::optional<double> kelvin_per_watt_;  ///< To what is looked at.
};

/// What is measured of a part in one observation, at a pin.
[[nodiscard]] double value_in(const CheckInput& input, const Observation& seen,
                              int part, const Rating& rating, int pin);

}  // namespace benchproof
