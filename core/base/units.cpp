#include "core/base/detail/units.h"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace benchproof {
namespace {

// SI prefixes (BIPM, The International System of Units, 9th edition, table 7), with the
// letter u and both code points of the Greek letter for micro.
constexpr std::array<UnitScale, 12> kPrefixes = {{{"f", -15},
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

constexpr std::array kVolt = {UnitScale{"V", 0}};
constexpr std::array kAmpere = {UnitScale{"A", 0}};
constexpr std::array kWatt = {UnitScale{"W", 0}};
constexpr std::array kOhm = {UnitScale{"ohm", 0}, UnitScale{"\u03A9", 0},
                             UnitScale{"\u2126", 0}};
constexpr std::array kFarad = {UnitScale{"F", 0}};
constexpr std::array kHenry = {UnitScale{"H", 0}};
constexpr std::array kSecond = {UnitScale{"s", 0}};
constexpr std::array kHertz = {UnitScale{"Hz", 0}};
constexpr std::array kCelsius = {UnitScale{"\u00B0C", 0}, UnitScale{"C", 0},
                                 UnitScale{"\u2103", 0}};
constexpr std::array kFraction = {UnitScale{"%", -2}};
constexpr std::array kAmpereHour = {UnitScale{"Ah", 0}};
constexpr std::array kKelvinPerWatt = {UnitScale{"K/W", 0}, UnitScale{"C/W", 0},
                                       UnitScale{"\u00B0C/W", 0}};
constexpr std::array kSquareMetre = {UnitScale{"mm2", -6}, UnitScale{"mm\u00B2", -6},
                                     UnitScale{"mm^2", -6}};
constexpr std::array kMetre = {UnitScale{"m", 0}, UnitScale{"cm", -2}};

// Letters of IEC 60062: R, K, M of resistors as published, the rest from memory. A
// small k is SI's, and stands for kilo here too, as a small r for R. A resistance has
// no m: who writes one means a milliohm or a megohm.
constexpr std::array kOhmLetters = {
    UnitScale{"R", 0}, UnitScale{"r", 0}, UnitScale{"k", 3},  UnitScale{"K", 3},
    UnitScale{"M", 6}, UnitScale{"G", 9}, UnitScale{"T", 12}, UnitScale{"L", -3}};
constexpr std::array kFaradLetters = {UnitScale{"p", -12},     UnitScale{"n", -9},
                                      UnitScale{"u", -6},      UnitScale{"\u00B5", -6},
                                      UnitScale{"\u03BC", -6}, UnitScale{"m", -3},
                                      UnitScale{"F", 0}};
constexpr std::array kHenryLetters = {UnitScale{"n", -9},      UnitScale{"u", -6},
                                      UnitScale{"\u00B5", -6}, UnitScale{"\u03BC", -6},
                                      UnitScale{"m", -3},      UnitScale{"H", 0}};

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

std::span<const UnitScale> si_prefixes() { return kPrefixes; }

std::span<const UnitStyle> unit_styles() { return kStyles; }

const UnitStyle& style_of(Unit unit) { return kStyles[static_cast<std::size_t>(unit)]; }

std::string_view symbol(Unit unit) {
  const UnitStyle& style = style_of(unit);
  return style.symbols.empty() ? std::string_view() : style.symbols.front().text;
}

std::optional<UnitScale> find_scale(std::span<const UnitScale> scales,
                                    std::string_view text) {
  for (const UnitScale& scale : scales)
    if (scale.text == text) return scale;
  return std::nullopt;
}

std::optional<int> unit_exponent(const UnitStyle& style, std::string_view text) {
  if (const auto symbol = find_scale(style.symbols, text)) return symbol->exponent;
  if (!style.takes_prefix) return std::nullopt;
  for (const UnitScale& prefix : kPrefixes) {
    if (!text.starts_with(prefix.text)) continue;
    const std::string_view rest = text.substr(prefix.text.size());
    const auto symbol = find_scale(style.symbols, rest);
    if (symbol && symbol->exponent == 0) return prefix.exponent;
  }
  return std::nullopt;
}

QuantityError quantity_error(QuantityError::Kind kind, std::size_t offset,
                             std::string message, Unit unit) {
  const UnitStyle& style = style_of(unit);
  return {kind, offset, std::move(message),
          fmt::format("write {} like {}", style.name, style.example)};
}

}  // namespace benchproof
