#pragma once

#include <cstddef>
#include <optional>
#include <string_view>
#include <variant>

#include "core/base/detail/decimal.h"
#include "core/base/quantity.h"

namespace benchproof {

/// What follows the number in the letter code of IEC 60062, as in "4k7".
struct CodeTail {
  std::string_view letter;
  std::string_view digits;
  std::string_view rest;  ///< What stands there besides; a mistake.
};

/// The text as a letter with digits behind it; nothing when it is not one.
[[nodiscard]] std::optional<CodeTail> code_tail(std::string_view text);

/// Reads the letter code; the tail begins at byte `offset`.
[[nodiscard]] std::variant<double, QuantityError> parse_code(Decimal number,
                                                             const CodeTail& tail,
                                                             std::size_t offset,
                                                             Unit unit);

}  // namespace benchproof
