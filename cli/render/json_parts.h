#pragma once

#include <nlohmann/json.hpp>

#include "core/check/finding.h"

namespace benchproof {

/// A finding as it stands in every JSON document.
[[nodiscard]] nlohmann::ordered_json finding_json(const Finding& finding);

}  // namespace benchproof
