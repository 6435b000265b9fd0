#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace benchproof {

/// A decimal number as written: digits * 10^exponent.
struct Decimal {
  bool is_negative = false;
  bool has_point = false;
  bool has_exponent = false;
  std::string digits;
  int exponent = 0;

  /// The nearest double to the number times 10^more_exponent, or nothing when it is
  /// infinite or vanishes.
  [[nodiscard]] std::optional<double> value(int more_exponent) const;
};

/// Reads the number without a sign at `at` and moves `at` behind it; without any digit
/// the result's digits are empty.
[[nodiscard]] Decimal read_decimal(std::string_view text, std::size_t& at);

/// The value of digits; what is far beyond the exponent of any double stays just that.
[[nodiscard]] int whole_number(std::string_view digits);

/// How many digits a text begins with.
[[nodiscard]] std::size_t count_digits(std::string_view text);

/// Bytes of the blank at the front of a text: a space, a tab, or one of the spaces that
/// typesetters put before a unit (no-break, narrow no-break, thin). 0 when there is
/// none.
[[nodiscard]] std::size_t blank_size(std::string_view text);

/// Where the blanks at `at` end.
[[nodiscard]] std::size_t after_blanks(std::string_view text, std::size_t at);

[[nodiscard]] std::string_view without_end_blanks(std::string_view text);

}  // namespace benchproof
