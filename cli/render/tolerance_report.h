#pragma once

#include <string>

#include "cli/render/report.h"
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

/// One row a figure (RFC 4180).
[[nodiscard]] std::string tolerance_csv(const ToleranceReport& report);

}  // namespace benchproof
