#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "core/base/detail/decimal.h"
#include "core/base/detail/units.h"

namespace benchproof {
namespace {

using Kind = QuantityError::Kind;

/// In how many bytes two texts differ, as far as both go.
std::size_t count_changes(std::string_view a, std::string_view b) {
  std::size_t changes = 0;
  for (std::size_t k = 0; k < std::min(a.size(), b.size()); ++k)
    changes += a[k] == b[k] ? 0 : 1;
  return changes;
}

/// The unit that a text likely means which is none by its capitals or its plural, with
/// the prefix that needs the fewest changes of case; empty where there is none.
std::string meant_unit(std::string_view text, const UnitStyle& style) {
  const std::string wanted = with_symbol(text);
  std::string best;
  std::size_t fewest = text.size() + 1;
  for (const UnitScale& symbol : style.symbols) {
    for (const UnitScale& prefix : si_prefixes()) {
      if (!prefix.text.empty() && (!style.takes_prefix || symbol.exponent != 0))
        continue;
      const std::string unit = fmt::format("{}{}", prefix.text, symbol.text);
      const std::size_t changes = count_changes(unit, text);
      if (lower_case(unit) != wanted || changes >= fewest) continue;
      fewest = changes;
      best = unit;
    }
  }
  return best;
}

/// The text is a unit of something else.
std::optional<QuantityError> other_unit(std::string_view text, std::size_t offset,
                                        Unit unit) {
  for (const UnitStyle& other : unit_styles())
    if (other.unit != unit && unit_exponent(other, text))
      return quantity_error(Kind::wrong_unit, offset,
                            fmt::format("'{}' is the unit of {}, not of {}", text,
                                        other.name, style_of(unit).name),
                            unit);
  return std::nullopt;
}

/// The text is the unit and something behind it.
std::optional<QuantityError> after_unit(std::string_view text, std::size_t offset,
                                        Unit unit) {
  std::size_t end = 0;
  while (end < text.size() && blank_size(text.substr(end)) == 0) ++end;
  const std::string_view first = text.substr(0, end);
  const UnitStyle& style = style_of(unit);
  if (end == text.size() ||
      (!unit_exponent(style, first) && !loose_exponent(style, first)))
    return std::nullopt;
  const std::size_t rest = after_blanks(text, end);
  QuantityError error =
      quantity_error(Kind::malformed, offset + rest,
                     fmt::format("'{}' follows the unit", text.substr(rest)), unit);
  error.hint = fmt::format("one figure stands here; others have keys of their own; {}",
                           error.hint);
  return error;
}

/// The text is no unit at all.
QuantityError no_unit(std::string_view text, std::size_t offset, Unit unit) {
  const UnitStyle& style = style_of(unit);
  QuantityError unknown =
      quantity_error(Kind::unknown_unit, offset,
                     fmt::format("'{}' is not a unit of {}", text, style.name), unit);
  if (text.find(',') != std::string_view::npos)
    unknown.hint = fmt::format("one value stands here, not a list; {}", unknown.hint);
  const std::string meant = meant_unit(text, style);
  if (meant.starts_with('m') && style.unit == Unit::hertz)
    unknown.hint =
        "'mHz' is a thousandth of a hertz, 'MHz' a million: write one of them";
  else if (meant.starts_with('m') && style.unit == Unit::farad)
    unknown.hint =
        "'uF' is a millionth of a farad, 'mF' a thousandth: write one of them";
  else if (!meant.empty())
    unknown.hint = fmt::format("did you mean '{}'? {}", meant, unknown.hint);
  return unknown;
}

/// The text is the unit of a voltage that alternates ("V AC", "V~").
std::optional<QuantityError> alternating(std::string_view text, std::size_t offset,
                                         Unit unit) {
  std::string small = lower_case(text);
  const std::size_t size = small.ends_with("ac") ? 2 : small.ends_with('~') ? 1 : 0;
  if (unit != Unit::volt || size == 0) return std::nullopt;
  const std::string_view stem =
      without_end_blanks(std::string_view(small).substr(0, small.size() - size));
  if (!loose_exponent(style_of(unit), stem)) return std::nullopt;
  QuantityError error =
      quantity_error(Kind::wrong_unit, offset,
                     fmt::format("'{}' is a voltage that alternates", text), unit);
  error.hint =
      "this is for DC: take what the supply gives to the circuit, such as '12 V'";
  return error;
}

}  // namespace

QuantityError small_m_error(std::size_t offset) {
  QuantityError error = quantity_error(
      Kind::wrong_unit, offset, "'m' is not a code letter of a resistance", Unit::ohm);
  error.hint =
      "'10m' could be ten thousandths of an ohm or ten million: write '10 mohm', or "
      "'10M' (10 Mohm)";
  return error;
}

QuantityError unit_error(std::string_view text, std::size_t offset, Unit unit) {
  if (unit == Unit::ohm && text == "m") return small_m_error(offset);
  if (style_of(unit).takes_prefix && find_scale(si_prefixes(), text))
    return quantity_error(Kind::no_unit, offset,
                          fmt::format("'{}' is a prefix without its unit", text), unit);
  if (auto error = other_unit(text, offset, unit)) return std::move(*error);
  if (auto error = alternating(text, offset, unit)) return std::move(*error);
  if (auto error = after_unit(text, offset, unit)) return std::move(*error);
  if (unit == Unit::none)
    return quantity_error(Kind::wrong_unit, offset,
                          fmt::format("'{}' follows a plain number", text), unit);
  return no_unit(text, offset, unit);
}

}  // namespace benchproof
