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
  const std::string text = fmt::format("{:.{}e}", std::abs(value), digits - 1);
  const std::size_t mark = text.find('e');
  Rounded result;
  result.is_negative = value < 0;
  std::copy_if(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(mark),
               std::back_inserter(result.digits), is_digit);
  result.exponent = std::atoi(text.c_str() + mark + 1);
  return result;
}

/// Writes rounded digits with the point moved by `shift` powers of ten.
std::string fixed(const Rounded& number, int shift) {
  const int exponent = number.exponent - shift;
  const int size = static_cast<int>(number.digits.size());
  const std::string_view sign = number.is_negative ? "-" : "";
  const std::string_view digits = number.digits;
  if (exponent < 0)
    return fmt::format("{}0.{:0>{}}", sign, digits, size - exponent - 1);
  if (exponent + 1 >= size) return fmt::format("{}{:0<{}}", sign, digits, exponent + 1);
  const auto whole = static_cast<std::size_t>(exponent) + 1;
  return fmt::format("{}{}.{}", sign, digits.substr(0, whole), digits.substr(whole));
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
  if (exponent >= -4 && exponent < 7)
    return fmt::format("{}{}", fixed(number, shift), ending);
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
                                 : fmt::format(" {}", style.symbols.front().text);
  if (!std::isfinite(value)) return shortest(value) + ending;
  if (value == 0.0) return fmt::format("0{}", ending);

  const Rounded number = round_to(value, digits);
  if (style.takes_prefix) {
    if (const auto prefix = prefix_for(number.exponent, unit))
      return fmt::format("{} {}{}", fixed(number, prefix->exponent), prefix->text,
                         style.symbols.front().text);
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
