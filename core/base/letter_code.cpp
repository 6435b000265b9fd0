#include "core/base/detail/letter_code.h"

#include <fmt/format.h>

#include <algorithm>

#include "core/base/detail/units.h"
#include "core/base/pieces.h"

namespace benchproof {
namespace {

using Kind = QuantityError::Kind;

/// Something stands behind the code's last digit.
QuantityError rest_error(const CodeTail& tail, std::size_t offset, Unit unit) {
  const std::size_t end = offset + tail.letter.size() + tail.digits.size();
  const std::size_t blanks = after_blanks(tail.rest, 0);
  QuantityError trouble = quantity_error(
      Kind::malformed, end + blanks,
      fmt::format("'{}' follows the letter code", tail.rest.substr(blanks)), unit);
  trouble.hint =
      "the letter code stands alone, without a unit; a tolerance has its own key";
  return trouble;
}

}  // namespace

std::optional<CodeTail> code_tail(std::string_view text) {
  const auto first = std::find_if(text.begin(), text.end(), is_digit);
  const auto letters = static_cast<std::size_t>(first - text.begin());
  if (letters == 0 || letters == text.size()) return std::nullopt;
  const std::string_view letter = text.substr(0, letters);
  const bool is_one_letter = find_scale(si_prefixes(), letter) ||
                             find_scale(style_of(Unit::ohm).letters, letter) ||
                             std::any_of(unit_styles().begin(), unit_styles().end(),
                                         [&](const UnitStyle& style) {
                                           return find_scale(style.symbols, letter);
                                         });
  if (!is_one_letter) return std::nullopt;
  const std::size_t digits = count_digits(text.substr(letters));
  return CodeTail{letter, text.substr(letters, digits), text.substr(letters + digits)};
}

std::variant<double, QuantityError> parse_code(Decimal number, const CodeTail& tail,
                                               std::size_t offset, Unit unit) {
  const UnitStyle& style = style_of(unit);
  if (style.letters.empty())
    return quantity_error(
        Kind::malformed, offset,
        fmt::format("the letter code of IEC 60062 is not read for {}", style.name),
        unit);
  const auto letter = find_scale(style.letters, tail.letter);
  if (!letter && unit == Unit::ohm && tail.letter == "m") return small_m_error(offset);
  if (!letter)
    return quantity_error(
        Kind::wrong_unit, offset,
        fmt::format("'{}' is not a code letter of {}", tail.letter, style.name), unit);
  if (number.has_point || number.has_exponent)
    return quantity_error(
        Kind::malformed, offset,
        fmt::format("the letter '{}' is a second decimal point", tail.letter), unit);
  if (!tail.rest.empty()) return rest_error(tail, offset, unit);
  number.digits += tail.digits;
  number.exponent -= static_cast<int>(tail.digits.size());
  if (const auto value = number.value(letter->exponent)) return *value;
  return quantity_error(Kind::out_of_range, 0,
                        "the number is beyond what can be computed", unit);
}

}  // namespace benchproof
