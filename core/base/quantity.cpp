#include "core/base/quantity.h"

#include <utility>

#include "core/base/detail/decimal.h"
#include "core/base/detail/letter_code.h"
#include "core/base/detail/units.h"
#include "core/base/detail/wire_gauge.h"

namespace benchproof {
namespace {

using Kind = QuantityError::Kind;

/// Reads the sign at `at`, where there is one, and moves `at` behind it. True for
/// minus.
bool read_minus(std::string_view text, std::size_t& at) {
  for (const std::string_view sign : {"+", "-", "\u2212"}) {
    if (!text.substr(at).starts_with(sign)) continue;
    at += sign.size();
    return sign != "+";
  }
  return false;
}

/// Whether a text says infinity or not-a-number in words.
bool names_no_number(std::string_view text) {
  const std::string begin = lower_case(text.substr(0, 3));
  return begin == "nan" || begin == "inf" || text.starts_with("\u221E");
}

QuantityError comma_error(std::size_t at, Unit unit) {
  QuantityError comma =
      quantity_error(Kind::decimal_comma, at, "a comma stands in the number", unit);
  comma.hint = "write a decimal point, and no mark between thousands";
  return comma;
}

QuantityError gap_error(std::size_t at, Unit unit) {
  QuantityError gap =
      quantity_error(Kind::malformed, at, "a gap stands in the number", unit);
  gap.hint = "write the digits without a gap";
  return gap;
}

/// The power of ten that stands behind a number: a unit, or a code letter without
/// digits behind it ("470R").
std::optional<int> exponent_of(std::string_view text, Unit unit) {
  if (unit == Unit::none) return text.empty() ? std::optional(0) : std::nullopt;
  const UnitStyle& style = style_of(unit);
  if (const auto exponent = unit_exponent(style, text)) return exponent;
  if (const auto letter = find_scale(style.letters, text)) return letter->exponent;
  return loose_exponent(style, text);
}

/// A fraction as it is printed on parts ("1/4 W"); nothing when `rest`, which follows
/// the number, does not go on as one.
std::optional<double> fraction_of(const Decimal& number, std::string_view rest,
                                  Unit unit) {
  if (unit != Unit::watt || !rest.starts_with('/')) return std::nullopt;
  const std::size_t size = count_digits(rest.substr(1));
  const int parts = whole_number(rest.substr(1, size));
  const auto whole = number.value(0);
  const auto exponent = exponent_of(rest.substr(after_blanks(rest, 1 + size)), unit);
  if (parts == 0 || !whole || exponent != 0) return std::nullopt;
  return *whole / parts;
}

/// The value of a number with a unit behind it; the number begins at byte `begin`, the
/// unit at `offset`.
std::variant<double, QuantityError> with_unit(const Decimal& number, std::size_t begin,
                                              std::string_view text, std::size_t offset,
                                              Unit unit) {
  if (text.empty() && unit != Unit::none)
    return quantity_error(Kind::no_unit, offset, "the number has no unit", unit);
  const auto exponent = exponent_of(text, unit);
  if (!exponent) return unit_error(text, offset, unit);
  if (const auto value = number.value(*exponent)) return *value;
  return quantity_error(Kind::out_of_range, begin,
                        "the number is beyond what can be computed", unit);
}

}  // namespace

std::variant<double, QuantityError> parse_quantity(std::string_view text, Unit unit) {
  const std::string_view body = without_end_blanks(text);
  const std::size_t begin = after_blanks(body, 0);
  if (begin == body.size())
    return quantity_error(Kind::malformed, begin, "the value is empty", unit);
  if (unit == Unit::square_metre && lower_case(body.substr(begin, 3)) == "awg")
    return parse_gauge(body.substr(begin + 3), begin + 3);

  std::size_t at = begin;
  const bool is_negative = read_minus(body, at);
  if (names_no_number(body.substr(at)))
    return quantity_error(Kind::out_of_range, begin, "the value is not a finite number",
                          unit);
  Decimal number = read_decimal(body, at);
  number.is_negative = is_negative;
  const bool has_digits = !number.digits.empty();
  if (has_digits && body.substr(at).starts_with(',')) return comma_error(at, unit);

  const std::size_t offset = after_blanks(body, at);
  const std::string_view rest = body.substr(offset);
  const auto tail = offset == at ? code_tail(rest) : std::nullopt;
  if (has_digits) {
    if (tail) return parse_code(std::move(number), *tail, offset, unit);
    if (count_digits(rest) > 0) return gap_error(offset, unit);
    if (const auto value = fraction_of(number, rest, unit)) return *value;
    if (unit == Unit::square_metre && lower_case(rest) == "awg")
      return parse_gauge(body.substr(begin, at - begin), begin);
    return with_unit(number, begin, rest, offset, unit);
  }
  if (tail && find_scale(style_of(unit).letters, tail->letter))
    return parse_code(std::move(number), *tail, offset, unit);
  return quantity_error(Kind::malformed, begin,
                        "the value does not begin with a number", unit);
}

}  // namespace benchproof
