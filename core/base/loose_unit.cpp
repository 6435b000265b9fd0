#include <fmt/format.h>

#include <array>
#include <utility>

#include "core/base/detail/decimal.h"
#include "core/base/detail/units.h"

namespace benchproof {
namespace {

/// Words that people write for a unit.
constexpr std::array<std::pair<std::string_view, std::string_view>, 15> kUnitWords = {
    {{"volt", "V"},
     {"amp", "A"},
     {"ampere", "A"},
     {"watt", "W"},
     {"ohm", "ohm"},
     {"farad", "F"},
     {"henry", "H"},
     {"sec", "s"},
     {"second", "s"},
     {"hertz", "Hz"},
     {"percent", "%"},
     {"pct", "%"},
     {"celsius", "C"},
     {"degc", "C"},
     {"deg c", "C"}}};

/// A voltage without the "DC" that is printed behind it.
std::string_view without_dc(std::string_view text) {
  for (const std::string_view mark : {"DC", "dc", "Dc"}) {
    if (text.size() <= mark.size() || !text.ends_with(mark)) continue;
    return without_end_blanks(text.substr(0, text.size() - mark.size()));
  }
  return text;
}

/// Whether the prefix may stand for what is written, whose first letter is `front`.
bool fits(const UnitStyle& style, std::string_view prefix, char front) {
  if (prefix == "M") return front == 'M';
  if (prefix != "m") return true;
  // "100 mhz" is meant as megahertz, "100 mf" was written for microfarads (practice).
  const bool is_ambiguous = style.unit == Unit::hertz || style.unit == Unit::farad;
  return front == 'm' && !is_ambiguous;
}

}  // namespace

std::string with_symbol(std::string_view text) {
  const std::string given = lower_case(text);
  for (const auto& [word, symbol] : kUnitWords) {
    std::string_view stem = given;
    if (stem.ends_with('s') && stem.size() > word.size()) stem.remove_suffix(1);
    if (!stem.ends_with(word)) continue;
    stem.remove_suffix(word.size());
    return lower_case(fmt::format("{}{}", stem, symbol));
  }
  return given;
}

std::optional<int> loose_exponent(const UnitStyle& style, std::string_view text) {
  if (style.unit == Unit::volt) text = without_dc(text);
  // A prefix by itself, such as the f of femto, is no unit.
  if (style.unit == Unit::metre || find_scale(si_prefixes(), text)) return std::nullopt;
  const std::string wanted = with_symbol(text);
  for (const UnitScale& symbol : style.symbols) {
    const std::string small = lower_case(symbol.text);
    if (wanted == small) return symbol.exponent;
    if (!style.takes_prefix || symbol.exponent != 0) continue;
    for (const UnitScale& prefix : si_prefixes())
      if (wanted == lower_case(prefix.text) + small &&
          fits(style, prefix.text, text.front()))
        return prefix.exponent;
  }
  return std::nullopt;
}

}  // namespace benchproof
