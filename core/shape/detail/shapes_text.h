#pragma once

#include <string_view>

namespace benchproof {

/// The text of reference/shapes/shapes.toml as it was when the program was built.
[[nodiscard]] std::string_view shapes_text();

}  // namespace benchproof
