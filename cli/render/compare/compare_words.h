#pragma once

#include <string_view>

#include "core/compare/compare.h"

namespace benchproof {

/// "light", "supply", "life", "current", "voltage", "power", "margin".
[[nodiscard]] std::string_view topic_word(Topic topic);

/// "none", "slight", "real".
[[nodiscard]] std::string_view extent_word(Extent extent);

}  // namespace benchproof
