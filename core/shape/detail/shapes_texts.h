#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace benchproof {

/// The file of reference/shapes/ as it was when the program was built: name and text.
[[nodiscard]] std::vector<std::pair<std::string, std::string_view>> shapes_texts();

}  // namespace benchproof
