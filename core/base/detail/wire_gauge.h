#pragma once

#include <cstddef>
#include <string_view>
#include <variant>

#include "core/base/quantity.h"

namespace benchproof {

/// The cross-section, in square metres, of the wire whose gauge follows "AWG": 0 to 56,
/// or 00, 000, 0000. The text begins at byte `offset`.
[[nodiscard]] std::variant<double, QuantityError> parse_gauge(std::string_view text,
                                                              std::size_t offset);

}  // namespace benchproof
