#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace benchproof {

/// The data file of reference/pinouts as it was when the program was built: name and
/// text. Written at build time by embed.cmake.
[[nodiscard]] std::vector<std::pair<std::string, std::string_view>> pinouts_texts();

}  // namespace benchproof
