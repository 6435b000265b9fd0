#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace benchproof {

/// The pieces of a text between the signs, at least one, each without the blanks around
/// it: "0.5% + 20 mV" at '+'.
[[nodiscard]] std::vector<std::string> pieces_between(std::string_view text, char sign);

/// What stands before the first dot of a text, and behind it; all and nothing where
/// there is none: "quay" and "anode" of "quay.anode".
[[nodiscard]] std::pair<std::string, std::string> split_at_dot(const std::string& text);

/// The lines of a text without what ends them, at least one; the last one is empty
/// where the text ends with its line.
[[nodiscard]] std::vector<std::string> lines_of(std::string_view text);

/// Whether a character is one of 0 to 9.
[[nodiscard]] inline bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// The text with A to Z in small letters; all else as it is.
[[nodiscard]] std::string lower_case(std::string_view text);

}  // namespace benchproof
