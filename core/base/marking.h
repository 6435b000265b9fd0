#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"

namespace benchproof {

/// The colour bands of a resistor by IEC 60062, the first digit's first: two digits, a
/// power of ten and the tolerance; three digits where the value needs them or the
/// tolerance is 2 % or tighter. A tolerance of 20 % has no band.
///
/// Empty where the code has no bands for it: more than three digits, a power of ten
/// below 10^-3 (pink) or above 10^9 (white), a tolerance that is none of 20, 10, 5, 2,
/// 1, 0.5, 0.25 and 0.1 %.
///
/// @param ohms       Taken to six digits.
/// @param tolerance  A fraction: 0.05 for 5 %.
[[nodiscard]] std::vector<std::string_view> colour_bands(double ohms, double tolerance);

/// The letter code of IEC 60062: the letter of the power of ten stands where the point
/// would ("4k7", "R47", "470R", "2u2", "100n"). Six digits at most; a small k stands
/// for kilo, as in descriptions, and what is below 1 ohm keeps its R ("R047").
/// parse_quantity reads it back.
///
/// @param unit  Unit::ohm, Unit::farad or Unit::henry.
/// @throws std::invalid_argument for another unit, or a value not above 0 or not
/// finite.
[[nodiscard]] std::string letter_code(double value, Unit unit);

}  // namespace benchproof
