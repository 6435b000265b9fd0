#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace benchproof {

/// The data file of reference/faults as it was when the program was built: name and
/// text. Written at build time by embed.cmake.
[[nodiscard]] std::vector<std::pair<std::string, std::string_view>> weights_texts();

}  // namespace benchproof
