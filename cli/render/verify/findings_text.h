#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

#include "core/check/finding/finding.h"
#include "core/repair/one_mistake.h"
#include "core/verify/verify.h"

namespace benchproof {

enum class Ink { strong, fault, caution, note };

[[nodiscard]] Ink ink_of(Severity severity);

/// What single mistakes explain all faults, each on a line if there are several.
[[nodiscard]] std::string one_mistake_text(const OneMistake& found, bool colour);

/// A text in a colour of the terminal, where colours are wanted.
[[nodiscard]] std::string inked(std::string_view text, Ink ink, bool colour);

/// The colour of a verdict.
[[nodiscard]] Ink verdict_ink(Verdict verdict);

/// A description's title as the lines that a report begins with; none where it is
/// blank.
[[nodiscard]] std::string title_lines(std::string_view title, bool colour);

/// A text of the checks or a quantity, safe to print and with "C" for degrees Celsius:
/// our own words are ASCII on every terminal.
[[nodiscard]] std::string plain_text(std::string_view text);

[[nodiscard]] std::string figure_text(double value, Unit unit, int digits = 3);

/// A figure that was found: "12.0 mA", "nothing", "would burn".
[[nodiscard]] std::string cell_text(double value, Unit unit);

/// "apart by at most 3 %": a share, rounded up.
[[nodiscard]] std::string at_most_text(double share);

/// A share in hundredths, with as many decimals as it takes to tell it from all and
/// from none.
[[nodiscard]] std::string hundredths(double share);

/// A witness's complaint as one line; of a long one its end, which says what gave up.
[[nodiscard]] std::string complaint_text(std::string_view reason);

/// Expected ones count as none.
[[nodiscard]] std::size_t count_of(std::span<const Finding> findings,
                                   Severity severity);

/// The findings with how many there are of each severity; "none" if there are none.
[[nodiscard]] std::string findings_section(std::span<const Finding> findings,
                                           std::string_view file, bool colour);

}  // namespace benchproof
