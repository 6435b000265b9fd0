#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "cli/render/regress/regress_report.h"

namespace benchproof {

/// Writes the report as JSON, circuit by circuit; cli/README.md describes the layout.
void put_regress_json(const RegressReport& report, const PutText& put);

/// Reads what a report that was written so says besides its circuits, of a text without
/// them; returns in words why it cannot.
[[nodiscard]] std::variant<RegressHead, std::string> read_regress_head(
    std::string_view text);

/// The outcome of one circuit on one line, and back; nothing where it is not that.
[[nodiscard]] std::string outcome_json(const CircuitOutcome& outcome);
[[nodiscard]] std::optional<CircuitOutcome> read_outcome_json(std::string_view text);

}  // namespace benchproof
