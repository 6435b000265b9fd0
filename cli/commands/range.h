#pragma once

#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/range/supply_range.h"

namespace benchproof {

struct RangeOptions {
  std::string file;
  Asked asked;
  std::vector<std::string> states;  ///< Those to look at; empty: all.
  std::string over;                 ///< "jack.voltage"; empty: the only supply's.
  RangeRules rules;
  bool json = false;
  bool allow_unsealed = false;
};

/// Writes over which supply voltages the circuit passes. Returns the exit status.
[[nodiscard]] int run_range(const RangeOptions& options);

}  // namespace benchproof
