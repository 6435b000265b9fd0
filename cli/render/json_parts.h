#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "cli/render/report.h"
#include "core/check/finding/finding.h"

namespace benchproof {

/// A document as it is written: in UTF-8, where what a terminal would obey or hide,
/// such as marks that turn the direction of writing, is escaped.
[[nodiscard]] std::string document_text(const nlohmann::ordered_json& json,
                                        int indent = 2);

/// The name of the variant that was judged, or null.
[[nodiscard]] nlohmann::ordered_json variant_json(const FileReport& report);

/// A finding as it stands in every JSON document.
[[nodiscard]] nlohmann::ordered_json finding_json(const Finding& finding);

}  // namespace benchproof
