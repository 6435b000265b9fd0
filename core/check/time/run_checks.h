#pragma once

#include <vector>

#include "core/check/finding/finding.h"
#include "core/circuit/circuit.h"
#include "core/network/record.h"

namespace benchproof {

/// What the checks of a run are given: a run that both witnesses solved and agreed on.
struct RunInput {
  const Circuit& circuit;
  const Run& run;
  const std::vector<Part>& parts;  ///< With the settings of the run's last state.
  const Record& seen;
};

/// What only time shows: supplies that dip below what a controller needs, inrush
/// currents, ripple, voltages and currents beyond a rating for a moment, and how long
/// things take. Sorted.
[[nodiscard]] std::vector<Finding> check_run(const RunInput& input);

}  // namespace benchproof
