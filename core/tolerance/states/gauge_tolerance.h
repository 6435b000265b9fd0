#pragma once

#include <cstddef>
#include <vector>

#include "core/tolerance/copy/gauges.h"
#include "core/tolerance/copy/spreads.h"
#include "core/tolerance/states/copies.h"
#include "core/tolerance/states/worst_case.h"

namespace benchproof {

/// How much of what a gauge varies by comes from one draw.
struct Driver {
  std::size_t spread = 0;  ///< The first of those that share the draw.
  double share = 0.0;      ///< Of the variance that all draws make, each alone.
};

/// All that is known of one gauge in copies.
struct GaugeTolerance {
  Gauge gauge;
  double nominal = 0.0;
  WorstCase worst;
  GaugeCopies copies;
  std::vector<Driver> drivers;  ///< The strongest first; those of 1 % and more.
};

/// The share of so many copies in which a gauge fails; 0 of none.
[[nodiscard]] double share_failing(const GaugeTolerance& gauge, std::size_t copies);

/// The drivers of a gauge, from the variance that each spread makes.
[[nodiscard]] std::vector<Driver> drivers_of(const std::vector<Spread>& spreads,
                                             const std::vector<double>& variances);

}  // namespace benchproof
