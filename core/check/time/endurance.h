#pragma once

#include <optional>

#include "core/check/rating/borne.h"
#include "core/network/record.h"

namespace benchproof {

/// The stretch of time over which a quantity comes nearest to what a part bears, or
/// goes furthest beyond it.
struct Strain {
  double seconds = 0.0;  ///< How long the stretch is.
  double mean = 0.0;     ///< Over it; the root of the mean square where that counts.
  double borne = 0.0;    ///< What the part bears for so long.
  [[nodiscard]] double share() const { return mean / borne; }
};

/// Looks at stretches of every length (in steps of the fourth root of two) that the
/// curve spans; nothing where none comes to `from` times the limit. Before its first
/// point the trace is taken to have been at `before`, after its last one at 0: nobody
/// knows how it goes on.
/// @pre limit > 0; no value of the trace is negative, unless `by_rms`.
[[nodiscard]] std::optional<Strain> worst_strain(const Trace& trace, double limit,
                                                 const Endurance& endurance,
                                                 double before);

}  // namespace benchproof
