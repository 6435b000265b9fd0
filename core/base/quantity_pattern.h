#pragma once

#include <string>
#include <string_view>

#include "core/base/quantity.h"

namespace benchproof {

/// The regular expression (ECMA-262) of the texts that `parse_quantity` reads as that
/// unit, but for numbers too large to be computed and gauges that there are not. Made
/// from the same tables.
[[nodiscard]] std::string quantity_pattern(Unit unit);

/// What a unit measures: "a voltage", "a thermal resistance".
[[nodiscard]] std::string_view quantity_name(Unit unit);

}  // namespace benchproof
