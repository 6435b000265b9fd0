#pragma once

#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/range/supply_range.h"

namespace benchproof {

/// All that `range` has to say about one description that was read.
struct RangeReport {
  const FileReport& file;
  int part = -1;  ///< Whose voltage was moved.
  RangeRules rules;
  std::vector<StateRange> states;
};

/// The worst verdict of all states.
[[nodiscard]] Verdict verdict_of(const RangeReport& report);

/// For people: at most kLineWidth columns.
[[nodiscard]] std::string range_text(const RangeReport& report, bool colour);

/// As a JSON object, layout 1, without a final line feed. Numbers as in verify_json.
[[nodiscard]] std::string range_json(const RangeReport& report);

}  // namespace benchproof
