#pragma once

#include <nlohmann/json.hpp>

#include "cli/render/report.h"
#include "core/check/finding.h"

namespace benchproof {

/// The name of the variant that was judged, or null.
[[nodiscard]] nlohmann::ordered_json variant_json(const FileReport& report);

/// A finding as it stands in every JSON document.
[[nodiscard]] nlohmann::ordered_json finding_json(const Finding& finding);

}  // namespace benchproof
