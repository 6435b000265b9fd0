#pragma once

#include <cstddef>
#include <string>

#include "cli/render/verify/findings_text.h"
#include "cli/render/verify/report.h"

namespace benchproof {

/// How many findings of each severity there are.
struct Counts {
  std::size_t faults = 0;
  std::size_t cautions = 0;
};

/// Each finding of each state and run.
[[nodiscard]] Counts counts_of(const FileReport& report);

/// "good - within every known rating, in state 'night'": the verdict and what it says.
[[nodiscard]] std::string verdict_line(const FileReport& report, const Counts& counts);

}  // namespace benchproof
