#include "core/base/detail/units.h"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace benchproof {
namespace {

// SI prefixes (BIPM, The International System of Units, 9th edition, table 7), with the
// letter u and both code points of the Greek letter for micro.
constexpr std::array<Scale, 12> kPrefixes = {{{"f", -15},
                                              {"p", -12},
                                              {"n", -9},
                                              {"u", -6},
                                              {"\u00B5", -6},
                                              {"\u03BC", -6},
                                              {"m", -3},
                                              {"k", 3},
                                              {"M", 6},
                                              {"G", 9},
                                              {"T", 12},
                                              {"", 0}}};

constexpr std::array kVolt = {Scale{"V", 0}};
constexpr std::array kAmpere = {Scale{"A", 0}};
constexpr std::array kWatt = {Scale{"W", 0}};
constexpr std::array kOhm = {Scale{"ohm", 0}, Scale{"\u03A9", 0}, Scale{"\u2126", 0}};
constexpr std::array kFarad = {Scale{"F", 0}};
constexpr std::array kHenry = {Scale{"H", 0}};
constexpr std::array kSecond = {Scale{"s", 0}};
constexpr std::array kHertz = {Scale{"Hz", 0}};
constexpr std::array kCelsius = {Scale{"\u00B0C", 0}, Scale{"C", 0},
                                 Scale{"\u2103", 0}};
constexpr std::array kFraction = {Scale{"%", -2}};
constexpr std::array kAmpereHour = {Scale{"Ah", 0}};
constexpr std::array kKelvinPerWatt = {Scale{"K/W", 0}, Scale{"C/W", 0},
                                       Scale{"\u00B0C/W", 0}};
constexpr std::array kSquareMetre = {Scale{"mm2", -6}, Scale{"mm\u00B2", -6}};
constexpr std::array kMetre = {Scale{"m", 0}, Scale{"cm", -2}};

// Letters of IEC 60062: R, K, M of resistors as published, the rest from memory. A
// small k and a small m are SI's, and stand for kilo and milli here too.
constexpr std::array kOhmLetters = {Scale{"R", 0},  Scale{"k", 3}, Scale{"K", 3},
                                    Scale{"M", 6},  Scale{"G", 9}, Scale{"T", 12},
                                    Scale{"m", -3}, Scale{"L", -3}};
constexpr std::array kFaradLetters = {
    Scale{"p", -12},     Scale{"n", -9}, Scale{"u", -6}, Scale{"\u00B5", -6},
    Scale{"\u03BC", -6}, Scale{"m", -3}, Scale{"F", 0}};
constexpr std::array kHenryLetters = {Scale{"n", -9},      Scale{"u", -6},
                                      Scale{"\u00B5", -6}, Scale{"\u03BC", -6},
                                      Scale{"m", -3},      Scale{"H", 0}};

// In the order of Unit.
constexpr std::array kStyles = {
    UnitStyle{Unit::volt, kVolt, {}, true, "a voltage", "'12 V' or '3.3 V'"},
    UnitStyle{Unit::ampere, kAmpere, {}, true, "a current", "'20 mA'"},
    UnitStyle{Unit::watt, kWatt, {}, true, "a power", "'0.25 W'"},
    UnitStyle{Unit::ohm, kOhm, kOhmLetters, true, "a resistance",
              "'4.7 kohm', '4k7' or '470R'"},
    UnitStyle{Unit::farad, kFarad, kFaradLetters, true, "a capacitance",
              "'220 uF' or '2u2'"},
    UnitStyle{Unit::henry, kHenry, kHenryLetters, true, "an inductance",
              "'100 uH' or '2m2'"},
    UnitStyle{Unit::second, kSecond, {}, true, "a time", "'20 ms' or '1.5 s'"},
    UnitStyle{Unit::hertz, kHertz, {}, true, "a frequency", "'500 Hz'"},
    UnitStyle{Unit::celsius, kCelsius, {}, false, "a temperature", "'25 C'"},
    UnitStyle{Unit::fraction, kFraction, {}, false, "a share", "'5%'"},
    UnitStyle{
        Unit::ampere_hour, kAmpereHour, {}, true, "a charge", "'800 mAh' or '1.2 Ah'"},
    UnitStyle{Unit::kelvin_per_watt,
              kKelvinPerWatt,
              {},
              false,
              "a thermal resistance",
              "'65 K/W'"},
    UnitStyle{Unit::square_metre,
              kSquareMetre,
              {},
              false,
              "a cross-section",
              "'AWG 26' or '0.14 mm2'"},
    UnitStyle{Unit::metre, kMetre, {}, true, "a length", "'30 cm' or '1.5 m'"},
    UnitStyle{Unit::none, {}, {}, false, "a plain number", "'0.5' or '1e-12'"},
};

}  // namespace

std::span<const Scale> si_prefixes() { return kPrefixes; }

std::span<const UnitStyle> unit_styles() { return kStyles; }

const UnitStyle& style_of(Unit unit) { return kStyles[static_cast<std::size_t>(unit)]; }

std::string_view symbol(Unit unit) {
  const UnitStyle& style = style_of(unit);
  return style.symbols.empty() ? std::string_view() : style.symbols.front().text;
}

std::optional<Scale> find_scale(std::span<const Scale> scales, std::string_view text) {
  for (const Scale& scale : scales)
    if (scale.text == text) return scale;
  return std::nullopt;
}

std::optional<int> unit_exponent(const UnitStyle& style, std::string_view text) {
  if (const auto symbol = find_scale(style.symbols, text)) return symbol->exponent;
  if (!style.takes_prefix) return std::nullopt;
  for (const Scale& prefix : kPrefixes) {
    if (!text.starts_with(prefix.text)) continue;
    const std::string_view rest = text.substr(prefix.text.size());
    const auto symbol = find_scale(style.symbols, rest);
    if (symbol && symbol->exponent == 0) return prefix.exponent;
  }
  return std::nullopt;
}

std::string lower_case(std::string_view text) {
  std::string result(text);
  for (char& c : result)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return result;
}

QuantityError quantity_error(QuantityError::Kind kind, std::size_t offset,
                             std::string message, Unit unit) {
  const UnitStyle& style = style_of(unit);
  return {kind, offset, std::move(message),
          fmt::format("write {} like {}", style.name, style.example)};
}

}  // namespace benchproof
