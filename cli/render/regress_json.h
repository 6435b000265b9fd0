#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "cli/render/regress_report.h"

namespace benchproof {

/// The report as JSON; the README describes the layout.
[[nodiscard]] std::string regress_json(const RegressReport& report);

/// Reads a report that regress_json wrote; returns in words why it cannot.
[[nodiscard]] std::variant<RegressReport, std::string> read_regress_json(
    std::string_view text);

/// The outcome of one circuit on one line, and back; nothing where it is not that.
[[nodiscard]] std::string outcome_json(const CircuitOutcome& outcome);
[[nodiscard]] std::optional<CircuitOutcome> read_outcome_json(std::string_view text);

}  // namespace benchproof
