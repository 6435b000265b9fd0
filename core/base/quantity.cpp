#include "core/base/quantity.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <iterator>
#include <limits>
#include <optional>
#include <span>
#include <stdexcept>
#include <utility>

namespace benchproof {
namespace {

/// A text that stands for a power of ten: a unit, a prefix or a code letter.
struct Scale {
  std::string_view text;
  int exponent = 0;
};

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

/// How a unit is written.
struct UnitStyle {
  Unit unit;
  std::span<const Scale> symbols;  ///< The first is the one that is printed.
  std::span<const Scale> letters;  ///< Of the letter code; empty where there is none.
  bool takes_prefix;
  std::string_view name;     ///< "a voltage"
  std::string_view example;  ///< "'12 V'"
};

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

const UnitStyle& style_of(Unit unit) { return kStyles[static_cast<std::size_t>(unit)]; }

using Kind = QuantityError::Kind;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool starts_with_digit(std::string_view text) {
  return !text.empty() && is_digit(text.front());
}

/// Bytes of the blank at the front of a text: a space, a tab, or one of the spaces that
/// typesetters put before a unit (no-break, narrow no-break, thin). 0 when there is
/// none.
std::size_t blank_size(std::string_view text) {
  for (const std::string_view blank : {" ", "\t", "\u00A0", "\u202F", "\u2009"})
    if (text.starts_with(blank)) return blank.size();
  return 0;
}

/// Where the blanks at `at` end.
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

/// A decimal number as written: digits * 10^exponent.
struct Decimal {
  bool is_negative = false;
  bool has_point = false;
  bool has_exponent = false;
  std::string digits;
  int exponent = 0;

  /// The nearest double, or nothing when it is infinite or vanishes.
  [[nodiscard]] std::optional<double> value(int more_exponent) const {
    const std::string text = fmt::format("{}e{}", digits, exponent + more_exponent);
    double result = 0.0;
    const auto parsed = std::from_chars(text.data(), text.data() + text.size(), result);
    if (parsed.ec != std::errc() || !std::isfinite(result)) return std::nullopt;
    const bool is_zero = digits.find_first_not_of('0') == std::string::npos;
    if (result == 0.0 && !is_zero) return std::nullopt;
    return is_negative ? -result : result;
  }
};

/// Reads the digits of an exponent; what is far beyond any double stays just that.
int read_exponent(std::string_view digits) {
  constexpr int kBeyond = 100'000'000;
  int value = 0;
  for (const char c : digits) value = std::min(kBeyond, value * 10 + (c - '0'));
  return value;
}

std::size_t count_digits(std::string_view text) {
  return static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), is_digit) -
                                  text.begin());
}

/// Reads the number at `at` and moves `at` behind it; without any digit the result's
/// digits are empty.
Decimal read_decimal(std::string_view text, std::size_t& at) {
  Decimal number;
  const std::size_t whole = count_digits(text.substr(at));
  number.digits = text.substr(at, whole);
  at += whole;
  const bool has_fraction = text.substr(at).starts_with('.') &&
                            (whole > 0 || starts_with_digit(text.substr(at + 1)));
  if (has_fraction) {
    ++at;
    const std::size_t fraction = count_digits(text.substr(at));
    number.digits += text.substr(at, fraction);
    number.exponent -= static_cast<int>(fraction);
    number.has_point = true;
    at += fraction;
  }
  if (number.digits.empty()) return number;
  if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
    std::size_t digits = at + 1;
    const bool has_sign =
        digits < text.size() && (text[digits] == '+' || text[digits] == '-');
    const bool is_negative = has_sign && text[digits] == '-';
    if (has_sign) ++digits;
    const std::size_t size = count_digits(text.substr(digits));
    if (size > 0) {
      const int exponent = read_exponent(text.substr(digits, size));
      number.exponent += is_negative ? -exponent : exponent;
      number.has_exponent = true;
      at = digits + size;
    }
  }
  return number;
}

QuantityError error(Kind kind, std::size_t offset, std::string message, Unit unit) {
  const UnitStyle& style = style_of(unit);
  return {kind, offset, std::move(message),
          fmt::format("write {} like {}", style.name, style.example)};
}

std::optional<Scale> find_scale(std::span<const Scale> scales, std::string_view text) {
  for (const Scale& scale : scales)
    if (scale.text == text) return scale;
  return std::nullopt;
}

/// The scale of a unit with or without a prefix.
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

/// Words that people write for a unit.
constexpr std::array<std::pair<std::string_view, std::string_view>, 11> kUnitWords = {
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
     {"percent", "%"}}};

std::string lower(std::string_view text) {
  std::string result(text);
  for (char& c : result)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return result;
}

/// The unit that a text likely means which is none by its capitals or its plural, with
/// the prefix that needs the fewest changes of case; empty where there is none.
std::string meant_unit(std::string_view text, const UnitStyle& style) {
  std::string given = lower(text);
  for (const auto& [word, symbol] : kUnitWords) {
    const bool is_plural = given.ends_with('s') && given.size() > word.size();
    const std::string_view stem =
        std::string_view(given).substr(0, given.size() - (is_plural ? 1 : 0));
    if (!stem.ends_with(word)) continue;
    given =
        std::string(stem.substr(0, stem.size() - word.size())) + std::string(symbol);
    break;
  }
  const std::string wanted = lower(given);
  std::string best;
  std::size_t fewest = text.size() + 1;
  for (const Scale& symbol : style.symbols) {
    for (const Scale& prefix : kPrefixes) {
      if (!prefix.text.empty() && (!style.takes_prefix || symbol.exponent != 0))
        continue;
      const std::string unit = std::string(prefix.text) + std::string(symbol.text);
      if (lower(unit) != wanted) continue;
      std::size_t changes = 0;
      for (std::size_t k = 0; k < std::min(unit.size(), text.size()); ++k)
        changes += unit[k] == text[k] ? 0 : 1;
      if (changes >= fewest) continue;
      fewest = changes;
      best = unit;
    }
  }
  return best;
}

/// Why a text behind a number is not a unit of what was asked for.
QuantityError unit_error(std::string_view text, std::size_t offset, Unit unit) {
  const UnitStyle& style = style_of(unit);
  if (find_scale(kPrefixes, text) && style.takes_prefix)
    return error(Kind::no_unit, offset,
                 fmt::format("'{}' is a prefix without its unit", text), unit);
  for (const UnitStyle& other : kStyles) {
    if (other.unit == unit || !unit_exponent(other, text)) continue;
    return error(
        Kind::wrong_unit, offset,
        fmt::format("'{}' is the unit of {}, not of {}", text, other.name, style.name),
        unit);
  }
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (blank_size(text.substr(at)) == 0) continue;
    if (!unit_exponent(style, text.substr(0, at))) break;
    const std::size_t rest = after_blanks(text, at);
    return error(Kind::malformed, offset + rest,
                 fmt::format("'{}' follows the unit", text.substr(rest)), unit);
  }
  if (unit == Unit::none)
    return error(Kind::wrong_unit, offset,
                 fmt::format("'{}' follows a plain number", text), unit);
  QuantityError unknown =
      error(Kind::unknown_unit, offset,
            fmt::format("'{}' is not a unit of {}", text, style.name), unit);
  if (text.find(',') != std::string_view::npos)
    unknown.hint = fmt::format("one value stands here, not a list; {}", unknown.hint);
  if (const std::string meant = meant_unit(text, style); !meant.empty())
    unknown.hint = fmt::format("did you mean '{}'? {}", meant, unknown.hint);
  return unknown;
}

/// A letter with the digits behind it, as in "4k7": nothing when the text is not one.
struct CodeTail {
  std::string_view letter;
  std::string_view digits;
  std::string_view rest;
};

std::optional<CodeTail> code_tail(std::string_view text) {
  const auto first = std::find_if(text.begin(), text.end(), is_digit);
  const auto letters = static_cast<std::size_t>(first - text.begin());
  if (letters == 0 || letters == text.size()) return std::nullopt;
  const std::string_view letter = text.substr(0, letters);
  const bool is_one_letter =
      find_scale(kPrefixes, letter) || find_scale(kOhmLetters, letter) ||
      std::any_of(kStyles.begin(), kStyles.end(), [&](const UnitStyle& style) {
        return find_scale(style.symbols, letter);
      });
  if (!is_one_letter) return std::nullopt;
  const std::size_t digits = count_digits(text.substr(letters));
  return CodeTail{letter, text.substr(letters, digits), text.substr(letters + digits)};
}

/// Reads the letter code; the tail begins at `offset`.
std::variant<double, QuantityError> parse_code(Decimal number, const CodeTail& tail,
                                               std::size_t offset, Unit unit) {
  const UnitStyle& style = style_of(unit);
  if (style.letters.empty())
    return error(
        Kind::malformed, offset,
        fmt::format("the letter code of IEC 60062 is not read for {}", style.name),
        unit);
  const auto letter = find_scale(style.letters, tail.letter);
  if (!letter)
    return error(
        Kind::wrong_unit, offset,
        fmt::format("'{}' is not a code letter of {}", tail.letter, style.name), unit);
  if (number.has_point || number.has_exponent)
    return error(Kind::malformed, offset,
                 fmt::format("the letter '{}' is a second decimal point", tail.letter),
                 unit);
  if (!tail.rest.empty()) {
    const std::size_t end = offset + tail.letter.size() + tail.digits.size();
    const std::string_view rest = tail.rest.substr(after_blanks(tail.rest, 0));
    QuantityError trouble =
        error(Kind::malformed, end + (tail.rest.size() - rest.size()),
              fmt::format("'{}' follows the letter code", rest), unit);
    trouble.hint =
        "the letter code stands alone, without a unit; a tolerance has its own key";
    return trouble;
  }
  number.digits += tail.digits;
  number.exponent -= static_cast<int>(tail.digits.size());
  if (const auto value = number.value(letter->exponent)) return *value;
  return error(Kind::out_of_range, 0, "the number is beyond what can be computed",
               unit);
}

/// The cross-section of a wire by its gauge in square metres. The diameter follows the
/// rule of ASTM B258: number 36 is 0.005 inch, number 0000 (here -3) is 0.46 inch, in
/// 39 equal ratio steps.
double gauge_area(int number) {
  constexpr double kInch = 0.0254;
  constexpr double kPi = 3.14159265358979323846;
  const double diameter = 0.005 * kInch * std::pow(92.0, (36 - number) / 39.0);
  return kPi / 4 * diameter * diameter;
}

/// Reads what follows "AWG": 0 to 56, or 00, 000, 0000.
std::variant<double, QuantityError> parse_gauge(std::string_view text,
                                                std::size_t offset) {
  constexpr int kThinnest = 56;
  const std::size_t begin = after_blanks(text, 0);
  const std::string_view number = text.substr(begin);
  const bool is_whole = !number.empty() && count_digits(number) == number.size();
  if (!is_whole)
    return error(Kind::malformed, offset + begin,
                 "a gauge is a whole number from 0 to 56, or 00, 000, 0000",
                 Unit::square_metre);
  const bool is_all_zeros = number.find_first_not_of('0') == std::string_view::npos;
  if (is_all_zeros && number.size() <= 4)
    return gauge_area(1 - static_cast<int>(number.size()));
  const int gauge = read_exponent(number);
  if (is_all_zeros || gauge > kThinnest)
    return error(
        Kind::out_of_range, offset + begin,
        fmt::format("there is no gauge '{}': they run from 0000 to 56", number),
        Unit::square_metre);
  return gauge_area(gauge);
}

/// Whether a text says infinity or not-a-number in words.
bool names_no_number(std::string_view text) {
  std::string lower;
  for (const char c : text.substr(0, 3))
    lower += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  return lower == "nan" || lower == "inf" || text.starts_with("\u221E");
}

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
std::optional<Scale> prefix_for(int exponent, Unit unit) {
  const int largest = unit == Unit::second ? 0 : (unit == Unit::metre ? 3 : 12);
  const int steps = exponent >= 0 ? exponent / 3 : -((2 - exponent) / 3);
  if (3 * steps > largest && exponent - largest < 6)
    return find_scale(kPrefixes, largest == 0 ? "" : (largest == 3 ? "k" : "T"));
  for (const Scale& prefix : kPrefixes)
    if (prefix.exponent == 3 * steps) return prefix;
  return std::nullopt;
}

}  // namespace

std::variant<double, QuantityError> parse_quantity(std::string_view text, Unit unit) {
  const std::string_view body = without_end_blanks(text);
  std::size_t at = after_blanks(body, 0);
  if (at == body.size()) return error(Kind::malformed, at, "the value is empty", unit);

  if (unit == Unit::square_metre && body.substr(at).starts_with("AWG"))
    return parse_gauge(body.substr(at + 3), at + 3);

  const std::size_t begin = at;
  bool is_negative = false;
  if (body[at] == '+' || body[at] == '-') {
    is_negative = body[at] == '-';
    ++at;
  } else if (constexpr std::string_view kMinus = "\u2212";
             body.substr(at).starts_with(kMinus)) {
    is_negative = true;
    at += kMinus.size();
  }
  if (names_no_number(body.substr(at)))
    return error(Kind::out_of_range, begin, "the value is not a finite number", unit);

  Decimal number = read_decimal(body, at);
  number.is_negative = is_negative;
  if (!number.digits.empty() && at < body.size() && body[at] == ',') {
    QuantityError comma =
        error(Kind::decimal_comma, at, "a comma stands in the number", unit);
    comma.hint = "write a decimal point, and no mark between thousands";
    return comma;
  }

  const std::size_t offset = after_blanks(body, at);
  const std::string_view rest = body.substr(offset);
  const auto tail = offset == at ? code_tail(rest) : std::nullopt;
  if (number.digits.empty()) {
    const bool is_code = tail && find_scale(style_of(unit).letters, tail->letter);
    if (is_code) return parse_code(number, *tail, offset, unit);
    return error(Kind::malformed, begin, "the value does not begin with a number",
                 unit);
  }
  if (tail) return parse_code(number, *tail, offset, unit);
  if (starts_with_digit(rest)) {
    QuantityError gap =
        error(Kind::malformed, offset, "a gap stands in the number", unit);
    gap.hint = "write the digits without a gap";
    return gap;
  }

  std::optional<int> exponent;
  if (unit == Unit::none) {
    if (rest.empty()) exponent = 0;
  } else if (rest.empty()) {
    return error(Kind::no_unit, offset, "the number has no unit", unit);
  } else {
    exponent = unit_exponent(style_of(unit), rest);
    if (!exponent) {
      const auto letter = find_scale(style_of(unit).letters, rest);
      if (letter) exponent = letter->exponent;
    }
  }
  if (!exponent) return unit_error(rest, offset, unit);
  if (const auto value = number.value(*exponent)) return *value;
  return error(Kind::out_of_range, begin, "the number is beyond what can be computed",
               unit);
}

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
  if (const int exponent = number.exponent - shift; exponent >= -4 && exponent < 7)
    return fixed(number, shift) + ending;
  std::string text = number.is_negative ? "-" : "";
  text += fixed({false, number.digits, 0}, 0);
  return fmt::format("{}e{:+03d}{}", text, number.exponent - shift, ending);
}

std::string shortest(double value) {
  if (std::isnan(value)) return "nan";
  std::array<char, 32> buffer{};
  const auto written =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  return {buffer.data(), written.ptr};
}

std::string_view symbol(Unit unit) {
  const UnitStyle& style = style_of(unit);
  return style.symbols.empty() ? std::string_view() : style.symbols.front().text;
}

}  // namespace benchproof
