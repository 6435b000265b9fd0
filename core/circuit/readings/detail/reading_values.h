#pragma once

#include <string>

#include "core/circuit/readings/readings.h"

namespace benchproof {

/// Whether a meter may show "open" in place of a figure.
[[nodiscard]] bool can_be_open(Asks asks);

/// Why a value cannot be what a meter shows; empty where it can.
[[nodiscard]] std::string range_problem(Asks asks, double value);

}  // namespace benchproof
