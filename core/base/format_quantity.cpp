#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <iterator>
#include <optional>
#include <stdexcept>

#include "core/base/detail/decimal.h"
#include "core/base/detail/units.h"
#include "core/base/pieces.h"
#include "core/base/quantity.h"

namespace benchproof {
namespace {

/// The significant digits of a finite value other than 0, rounded: d.ddd * 10^exponent.
struct Rounded {
  bool is_negative = false;
  std::string digits;
  int exponent = 0;
};

Rounded round_to(double value, int digits) {
  // By hand, here and below: most messages of checks are made only to be counted.
  std::array<char, 32> text{};
  const char* end =
      std::to_chars(text.data(), text.data() + text.size(), std::abs(value),
                    std::chars_format::scientific, digits - 1)
          .ptr;
  const char* begin = text.data();
  const char* mark = std::find(begin, end, 'e');
  Rounded result;
  result.is_negative = value < 0;
  std::copy_if(begin, mark, std::back_inserter(result.digits), is_digit);
  const char* exponent = mark + (mark[1] == '+' ? 2 : 1);
  std::from_chars(exponent, end, result.exponent);
  return result;
}

/// Writes rounded digits with the point moved by `shift` powers of ten.
std::string fixed(const Rounded& number, int shift) {
  const int exponent = number.exponent - shift;
  const int size = static_cast<int>(number.digits.size());
  const auto zeros = [](int count) {
    return std::string(static_cast<std::size_t>(count), '0');
  };
  const std::string sign = number.is_negative ? "-" : "";
  const std::string& digits = number.digits;
  if (exponent < 0) return sign + "0." + zeros(-exponent - 1) + digits;
  if (exponent + 1 >= size) return sign + digits + zeros(exponent + 1 - size);
  const auto whole = static_cast<std::size_t>(exponent) + 1;
  return sign + digits.substr(0, whole) + "." + digits.substr(whole);
}

/// The prefix that leaves one to three digits before the point; nothing when there is
/// none. Times and lengths are not counted in thousands of seconds or millions of
/// metres.
std::optional<UnitScale> prefix_for(int exponent, Unit unit) {
  const int largest = unit == Unit::second ? 0 : (unit == Unit::metre ? 3 : 12);
  const int steps = exponent >= 0 ? exponent / 3 : -((2 - exponent) / 3);
  if (3 * steps > largest && exponent - largest < 6)
    return find_scale(si_prefixes(), largest == 0 ? "" : (largest == 3 ? "k" : "T"));
  for (const UnitScale& prefix : si_prefixes())
    if (prefix.exponent == 3 * steps) return prefix;
  return std::nullopt;
}

/// A value of a unit that takes no prefix: with an exponent where it would be long.
std::string without_prefix(const Rounded& number, int shift, std::string_view ending) {
  const int exponent = number.exponent - shift;
  if (exponent >= -4 && exponent < 7) return fixed(number, shift).append(ending);
  const Rounded mantissa{number.is_negative, number.digits, 0};
  return fmt::format("{}e{:+03d}{}", fixed(mantissa, 0), exponent, ending);
}

}  // namespace

std::string format_quantity(double value, Unit unit, int digits) {
  if (digits < 1 || digits > 17)
    throw std::invalid_argument("format_quantity: digits must be 1 to 17");
  const UnitStyle& style = style_of(unit);
  const std::string ending = unit == Unit::none
                                 ? std::string()
                                 : std::string(" ").append(style.symbols.front().text);
  if (!std::isfinite(value)) return shortest(value) + ending;
  if (value == 0.0) return "0" + ending;

  const Rounded number = round_to(value, digits);
  if (style.takes_prefix) {
    if (const auto prefix = prefix_for(number.exponent, unit))
      return fixed(number, prefix->exponent)
          .append(" ")
          .append(prefix->text)
          .append(style.symbols.front().text);
    return fmt::format("{:.{}e}{}", value, digits - 1, ending);
  }
  const int shift = style.symbols.empty() ? 0 : style.symbols.front().exponent;
  return without_prefix(number, shift, ending);
}

std::string shortest(double value) {
  if (std::isnan(value)) return "nan";
  std::array<char, 32> buffer{};
  const auto written =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), written.ptr};
}

}  // namespace benchproof
