#pragma once

#include <vector>

#include "core/circuit/question.h"
#include "core/circuit/readings/readings.h"

namespace benchproof {

/// How often a reading is taken at the wrong place, misread or mistyped. Common
/// practice, no source.
inline constexpr double kSlips = 0.01;

/// What a prediction says of a reading that was taken.
struct Fit {
  /// The natural logarithm of how probable the reading is: per volt, ampere or ohm of a
  /// figure, plain of "open" and of looks.
  double log_likelihood = 0.0;
  bool is_misfit = false;   ///< Only a slip explains it.
  bool is_unknown = false;  ///< Anything might have been read.
};

/// How far off a copy is at one place, in deviations of what scatters from copy to
/// copy: before any reading somewhere about 0.
struct Offset {
  double middle = 0.0;
  double deviation = 1.0;
  bool is_known = false;  ///< A reading has told of it.
};

/// Whether nothing can be said of a figure, or of looks: it has no solution, or hangs
/// on nothing that holds it, so that it lies further about than anything usual.
[[nodiscard]] bool is_unknown(Asks asks, const Shown& shown);

/// How well a prediction explains a reading.
///
/// A figure lies about the predicted one by its deviation, what the models are off
/// (1.5 %, and 15 mV, 2 uA, 0.3 ohm) and half of the last digit written, one time in
/// ten by three times as much: the sum of two normal laws. With the probability kSlips
/// it is a slip instead: the leads exchanged, a point or prefix misplaced, or anything.
/// What a prediction does not know ("not a number") may be anything. An eye that is not
/// sure sees the neighbouring brightness. Near the end of what meters reach one shows a
/// figure, another one "open".
///
/// With a known `offset` the copy is as far off as it was before, nine times in ten:
/// what is read again at one place tells no more of the copy than it did.
[[nodiscard]] Fit fit_of(const Shown& predicted, const TakenReading& taken,
                         const Offset& offset = {});

/// What a reading tells of the offset of the copy, by the rule of a linear estimate
/// [Kalman 1960, "A new approach to linear filtering and prediction problems", Trans.
/// ASME 82(1)]. A slip, an unknown figure, "open" and looks tell nothing.
[[nodiscard]] Offset learned(const Shown& predicted, const TakenReading& taken,
                             const Offset& before);

/// What is expected where a reading was taken already: what it said, if that was no
/// slip.
[[nodiscard]] Shown shown_again(const Shown& predicted, const TakenReading& taken);

/// Whether two readings, in this order, are of one place, so that the copy is off there
/// in both by the same: the same two nets under the meter, a voltage or a diode test,
/// or the same current or resistance, and predicted within what copies scatter by.
[[nodiscard]] bool is_same_place(const Question& one, const Shown& shown_one,
                                 const Question& other, const Shown& shown_other);

/// The reading that would be taken where a question shows that; at a figure, so many
/// deviations above it.
[[nodiscard]] TakenReading taken_of(const Question& question, const Shown& shown,
                                    double deviations);

/// Whether two predictions of one question are so far apart that a reading parts them:
/// figures by more than 2.5 of both deviations together, looks where an eye is sure.
[[nodiscard]] bool are_parted(Asks asks, const Shown& one, const Shown& other);

/// The deviation within which a figure is expected, model and meter together. In the
/// unit of what is asked.
[[nodiscard]] double deviation_of(Asks asks, const Shown& shown);

}  // namespace benchproof
