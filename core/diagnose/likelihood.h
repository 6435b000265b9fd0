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
/// sure sees the neighbouring brightness.
[[nodiscard]] Fit fit_of(const Shown& predicted, const TakenReading& taken);

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
