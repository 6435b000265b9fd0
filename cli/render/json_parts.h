#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "cli/render/verify/report.h"
#include "core/base/span.h"
#include "core/check/finding/explanation.h"
#include "core/check/finding/finding.h"

namespace benchproof {

/// A document as it is written: in UTF-8, where what a terminal would obey or hide,
/// such as marks that turn the direction of writing, is escaped.
[[nodiscard]] std::string document_text(const nlohmann::ordered_json& json,
                                        int indent = 2);

/// A text, or null for an empty one.
[[nodiscard]] nlohmann::ordered_json text_json(std::string_view text);

/// A number, or null: JSON knows neither infinities nor NaN.
[[nodiscard]] nlohmann::ordered_json number_json(std::optional<double> value);

/// Where something begins in a description, or null where it does not stand there.
[[nodiscard]] nlohmann::ordered_json line_json(const Span& span);
[[nodiscard]] nlohmann::ordered_json column_json(const Span& span);

/// A complaint, and where else the same is wrong.
[[nodiscard]] nlohmann::ordered_json complaint_json(const Diagnostic& complaint,
                                                    std::string_view file);

/// Explanations of ids, as a list.
[[nodiscard]] nlohmann::ordered_json explanations_list(
    std::span<const Explanation> explanations);

/// The name of the variant that was judged, or null.
[[nodiscard]] nlohmann::ordered_json variant_json(const FileReport& report);

/// A finding as it stands in every JSON document.
[[nodiscard]] nlohmann::ordered_json finding_json(const Finding& finding);
[[nodiscard]] nlohmann::ordered_json findings_json(std::span<const Finding> findings);

}  // namespace benchproof
