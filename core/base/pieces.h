#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace benchproof {

/// The pieces of a text between the signs, at least one, each without the blanks around
/// it: "0.5% + 20 mV" at '+'.
[[nodiscard]] std::vector<std::string> pieces_between(std::string_view text, char sign);

}  // namespace benchproof
