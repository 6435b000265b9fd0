#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/compare/compare.h"

namespace benchproof {

/// All that `compare` has to say.
struct CompareReport {
  std::vector<FileReport> versions;   ///< Judged, one per candidate.
  std::vector<Candidate> candidates;  ///< Point into `versions`.
  /// One list per candidate of what `--set` asked for, "quay_r.value=470R" each.
  std::vector<std::vector<std::string>> changes;
  Comparison comparison;
};

struct CompareTextOptions {
  bool colour = false;  ///< With the terminal's colours.
  bool all = false;     ///< Rows that hardly change or do not are shown too.
};

/// One candidate's figure of a row: "4.98 V", "83 %", "-" where it has none.
[[nodiscard]] std::string compared_text(const ComparedRow& row,
                                        const std::optional<double>& value);

/// The comparison for people: at most kLineWidth columns, ASCII but for the
/// descriptions' own words.
[[nodiscard]] std::string compare_text(const CompareReport& report,
                                       const CompareTextOptions& options);

/// The comparison as a JSON object, layout 1, without a final line feed. Numbers are in
/// SI units and read back as the same doubles.
[[nodiscard]] std::string compare_json(const CompareReport& report);

}  // namespace benchproof
