#pragma once

#include <cstddef>
#include <cstdint>
#include <string>

#include "cli/render/verify/report.h"
#include "core/tolerance/one_copy.h"
#include "core/tolerance/tolerance.h"

namespace benchproof {

/// What `tolerance` has to say about one description that was judged.
struct ToleranceReport {
  const FileReport& file;
  const ToleranceResult& result;
};

/// What a gauge measures: "voltage of 'rail'", "current of 'chip.quay'".
[[nodiscard]] std::string gauge_name(const Circuit& circuit, const Gauge& gauge);

/// For people: whether every copy works, what spoils those that do not, what would
/// help, then figures. With `spreads` every spread and its source, too.
[[nodiscard]] std::string tolerance_text(const ToleranceReport& report, bool colour,
                                         bool spreads);

[[nodiscard]] std::string tolerance_json(const ToleranceReport& report);

/// One copy, judged: `file` has what was found of it.
struct CopyReport {
  const FileReport& file;
  const OneCopy& copy;  ///< Its verification is the file's.
  std::size_t index = 0;
  std::uint64_t seed = 1;
};

/// The values of one copy, and the short report on it.
[[nodiscard]] std::string copy_text(const CopyReport& report, bool colour);

/// The document of `verify`, with `copy`, `seed` and `values`.
[[nodiscard]] std::string copy_json(const CopyReport& report);

/// One row a figure (RFC 4180).
[[nodiscard]] std::string tolerance_csv(const ToleranceReport& report);

}  // namespace benchproof
