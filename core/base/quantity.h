#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <variant>

namespace benchproof {

/// What a quantity measures. Values are held in the unit named, never prefixed.
enum class Unit {
  volt,             ///< V
  ampere,           ///< A
  watt,             ///< W
  ohm,              ///< ohm, or either ohm sign
  farad,            ///< F
  henry,            ///< H
  second,           ///< s; min and h are not accepted
  hertz,            ///< Hz
  celsius,          ///< "C" or the degree sign and C; held in degrees Celsius
  fraction,         ///< "5%"; held as 0.05
  ampere_hour,      ///< Ah; held in ampere hours
  kelvin_per_watt,  ///< K/W, thermal resistance
  square_metre,     ///< "AWG 26" or "0.14 mm2"; a wire's cross-section
  metre,            ///< m
  none,             ///< A plain number; no unit accepted
};

/// Why a text is not the quantity that was asked for.
struct QuantityError {
  /// What kind of mistake, which also names the diagnostic's id.
  enum class Kind {
    malformed,      ///< Not a number with a unit at all, or trailing text.
    decimal_comma,  ///< "4,7k"
    no_unit,        ///< A number without the unit it needs.
    unknown_unit,   ///< Not a unit of anything here.
    wrong_unit,     ///< A unit of something else.
    out_of_range,   ///< Not finite, or beyond what a double holds.
  };
  Kind kind = Kind::malformed;
  std::size_t offset = 0;  ///< Byte in the text where the trouble starts.
  std::string message;     ///< Lower case, no final stop.
  std::string hint;        ///< May be empty.
};

/// Reads a quantity: SI prefix and unit ("4.7 kohm", "220uF", "12 V", "1e3 ohm"), or
/// the letter code of IEC 60062 for ohm, farad and henry ("4k7", "470R", "0R47",
/// "2u2"). A unit may be written as people do who are not strict with capitals ("5v",
/// "20 ma", "470 Ohms", "12 V DC"), a power as a fraction ("1/4 W"), where that can be
/// read in one way only. `m` is milli and `M` is mega, always, and no code letter of a
/// resistance; u and both micro signs are micro. The value must be finite; whether its
/// sign and size make sense is the caller's to say.
[[nodiscard]] std::variant<double, QuantityError> parse_quantity(std::string_view text,
                                                                 Unit unit);

/// Prints a value in engineering form with `digits` significant digits and the unit:
/// 0.0123 A -> "12.3 mA", 4700 ohm -> "4.70 kohm". Percent for a fraction. Not a finite
/// number prints as it is. The text of a printed resistor, capacitor or inductor value
/// reads back through parse_quantity to the printed digits.
[[nodiscard]] std::string format_quantity(double value, Unit unit, int digits = 3);

/// The shortest text that reads back to the same double ("0.1", "1e-12"), by
/// std::to_chars; "nan", "inf", "-inf" for what is not a number.
[[nodiscard]] std::string shortest(double value);

/// The unit's usual symbol ("V", "ohm", "%").
[[nodiscard]] std::string_view symbol(Unit unit);

}  // namespace benchproof
