#include "core/base/quantity_pattern.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <vector>

#include "core/base/detail/units.h"

namespace benchproof {
namespace {

constexpr std::string_view kBlanks = "[ \\t\u00A0\u202F\u2009]*";
constexpr std::string_view kSign = "[+\u2212-]?";
constexpr std::string_view kNumber = "([0-9]+\\.?[0-9]*|\\.[0-9]+)([eE][+-]?[0-9]+)?";

/// "(V|mV|kV)" without what stands for nothing.
std::string one_of(const std::vector<std::string>& texts) {
  return fmt::format("({})", fmt::join(texts, "|"));
}

/// What may stand behind the number.
std::string units_pattern(const UnitStyle& style) {
  std::vector<std::string> prefixes;
  for (const UnitScale& prefix : si_prefixes())
    if (!prefix.text.empty()) prefixes.emplace_back(prefix.text);
  const std::string any_prefix = style.takes_prefix ? one_of(prefixes) + "?" : "";
  std::vector<std::string> units;
  for (const UnitScale& symbol : style.symbols)
    units.push_back((symbol.exponent == 0 ? any_prefix : "") +
                    std::string(symbol.text));
  for (const UnitScale& letter : style.letters) units.emplace_back(letter.text);
  return one_of(units);
}

/// "4k7" and "R47", where the unit has code letters.
std::string code_pattern(const UnitStyle& style) {
  std::vector<std::string> letters;
  for (const UnitScale& letter : style.letters) letters.emplace_back(letter.text);
  return fmt::format("[0-9]*{}[0-9]+", one_of(letters));
}

}  // namespace

std::string quantity_pattern(Unit unit) {
  const UnitStyle& style = style_of(unit);
  std::vector<std::string> forms;
  if (unit == Unit::none)
    forms.emplace_back(kNumber);
  else
    forms.push_back(fmt::format("{}{}{}", kNumber, kBlanks, units_pattern(style)));
  if (!style.letters.empty()) forms.push_back(code_pattern(style));
  std::string pattern = std::string(kSign) + one_of(forms);
  if (unit == Unit::square_metre)
    pattern = one_of({pattern, fmt::format("AWG{}[0-9]{{1,4}}", kBlanks)});
  return fmt::format("^{0}{1}{0}$", kBlanks, pattern);
}

std::string_view quantity_name(Unit unit) { return style_of(unit).name; }

}  // namespace benchproof
