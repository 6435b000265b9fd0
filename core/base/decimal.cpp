#include "core/base/detail/decimal.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/base/pieces.h"

namespace benchproof {
namespace {

/// Reads ".5", where a digit stands before or behind the point.
void read_fraction(std::string_view text, std::size_t& at, Decimal& number) {
  const std::string_view rest = text.substr(at);
  if (!rest.starts_with('.')) return;
  const std::size_t size = count_digits(rest.substr(1));
  if (number.digits.empty() && size == 0) return;
  number.digits += rest.substr(1, size);
  number.exponent -= static_cast<int>(size);
  number.has_point = true;
  at += 1 + size;
}

/// Reads "e-3"; an e without digits behind it belongs to something else.
void read_exponent(std::string_view text, std::size_t& at, Decimal& number) {
  const std::string_view rest = text.substr(at);
  if (!rest.starts_with('e') && !rest.starts_with('E')) return;
  const std::string_view behind = rest.substr(1);
  const bool is_negative = behind.starts_with('-');
  const std::size_t sign = is_negative || behind.starts_with('+') ? 1 : 0;
  const std::size_t size = count_digits(behind.substr(sign));
  if (size == 0) return;
  const int exponent = whole_number(behind.substr(sign, size));
  number.exponent += is_negative ? -exponent : exponent;
  number.has_exponent = true;
  at += 1 + sign + size;
}

}  // namespace

std::optional<double> Decimal::value(int more_exponent) const {
  const std::string text = fmt::format("{}e{}", digits, exponent + more_exponent);
  double result = 0.0;
  const auto parsed = std::from_chars(text.data(), text.data() + text.size(), result);
  if (parsed.ec != std::errc() || !std::isfinite(result)) return std::nullopt;
  const bool is_zero = digits.find_first_not_of('0') == std::string::npos;
  if (result == 0.0 && !is_zero) return std::nullopt;
  return is_negative ? -result : result;
}

Decimal read_decimal(std::string_view text, std::size_t& at) {
  Decimal number;
  number.digits = text.substr(at, count_digits(text.substr(at)));
  at += number.digits.size();
  read_fraction(text, at, number);
  if (!number.digits.empty()) read_exponent(text, at, number);
  return number;
}

int whole_number(std::string_view digits) {
  constexpr int kBeyond = 100'000'000;
  int value = 0;
  for (const char c : digits) value = std::min(kBeyond, value * 10 + (c - '0'));
  return value;
}

std::size_t count_digits(std::string_view text) {
  return static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), is_digit) -
                                  text.begin());
}

std::size_t blank_size(std::string_view text) {
  for (const std::string_view blank : {" ", "\t", "\u00A0", "\u202F", "\u2009"})
    if (text.starts_with(blank)) return blank.size();
  return 0;
}

std::size_t after_blanks(std::string_view text, std::size_t at) {
  while (const std::size_t size = blank_size(text.substr(at))) at += size;
  return at;
}

std::string_view without_end_blanks(std::string_view text) {
  std::size_t end = 0;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t size = blank_size(text.substr(at));
    at += size > 0 ? size : 1;
    if (size == 0) end = at;
  }
  return text.substr(0, end);
}

}  // namespace benchproof
