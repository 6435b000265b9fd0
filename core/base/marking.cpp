#include "core/base/marking.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <stdexcept>
#include <utility>

namespace benchproof {
namespace {

/// A positive value as digits without zeros at their end, the first before the point:
/// 4700 is "47" and 3.
struct Scientific {
  std::string digits;
  int exponent = 0;
};

Scientific scientific(double value) {
  const std::string text = fmt::format("{:.5e}", value);  // "4.70000e+03"
  const std::size_t sign = text.find('e');
  Scientific result;
  result.digits = text[0] + text.substr(2, sign - 2);
  result.digits.erase(result.digits.find_last_not_of('0') + 1);
  result.exponent = std::atoi(text.c_str() + sign + 1);
  return result;
}

bool is_positive(double value) { return value > 0.0 && std::isfinite(value); }

constexpr std::array<std::string_view, 10> kDigits = {
    "black", "brown", "red",    "orange", "yellow",
    "green", "blue",  "violet", "grey",   "white"};

/// The band of a power of ten, or nothing.
std::string_view multiplier(int exponent) {
  constexpr std::array<std::string_view, 3> kBelowOne = {"gold", "silver", "pink"};
  if (exponent >= 0 && exponent <= 9)
    return kDigits[static_cast<std::size_t>(exponent)];
  if (exponent < 0 && exponent >= -3)
    return kBelowOne[static_cast<std::size_t>(-1 - exponent)];
  return {};
}

struct ToleranceBand {
  double tolerance = 0.0;
  std::string_view colour;  ///< Empty: no band.
};
constexpr std::array kTolerances = {
    ToleranceBand{0.20, ""},       ToleranceBand{0.10, "silver"},
    ToleranceBand{0.05, "gold"},   ToleranceBand{0.02, "red"},
    ToleranceBand{0.01, "brown"},  ToleranceBand{0.005, "green"},
    ToleranceBand{0.0025, "blue"}, ToleranceBand{0.001, "violet"}};
/// From here on down three digits are marked.
constexpr double kTight = 0.02;

bool is_same(double a, double b) { return std::abs(a - b) <= 1e-9 * b; }

struct Letter {
  int exponent = 0;
  char letter = 'R';
};
constexpr std::array kOhmLetters = {Letter{0, 'R'}, Letter{3, 'k'}, Letter{6, 'M'},
                                    Letter{9, 'G'}, Letter{12, 'T'}};
constexpr std::array kFaradLetters = {Letter{-12, 'p'}, Letter{-9, 'n'},
                                      Letter{-6, 'u'}, Letter{0, 'F'}};
constexpr std::array kHenryLetters = {Letter{-9, 'n'}, Letter{-6, 'u'}, Letter{-3, 'm'},
                                      Letter{0, 'H'}};

/// The digits with the letter of the highest power that is not above the value, else
/// that of the lowest there is.
template <std::size_t size>
std::string coded(const Scientific& value, const std::array<Letter, size>& letters) {
  const auto above = std::find_if(letters.begin(), letters.end(), [&](const Letter& l) {
    return l.exponent > value.exponent;
  });
  const Letter& letter = above == letters.begin() ? *above : *std::prev(above);
  const int before = value.exponent - letter.exponent + 1;  // Digits before the letter.
  std::string digits = value.digits;
  if (before <= 0)
    return letter.letter + std::string(static_cast<std::size_t>(-before), '0') + digits;
  const auto whole = static_cast<std::size_t>(before);
  if (digits.size() < whole) digits.resize(whole, '0');
  return digits.substr(0, whole) + letter.letter + digits.substr(whole);
}

}  // namespace

std::vector<std::string_view> colour_bands(double ohms, double tolerance) {
  const auto band = std::find_if(
      kTolerances.begin(), kTolerances.end(),
      [&](const ToleranceBand& t) { return is_same(tolerance, t.tolerance); });
  if (band == kTolerances.end() || !is_positive(ohms)) return {};
  const Scientific value = scientific(ohms);
  std::size_t digits = band->tolerance > kTight ? 2 : 3;
  digits = std::max(digits, value.digits.size());
  const std::string_view power =
      multiplier(value.exponent + 1 - static_cast<int>(digits));
  if (digits > 3 || power.empty()) return {};
  std::vector<std::string_view> bands;
  for (std::size_t k = 0; k < digits; ++k) {
    const char digit = k < value.digits.size() ? value.digits[k] : '0';
    bands.push_back(kDigits[static_cast<std::size_t>(digit - '0')]);
  }
  bands.push_back(power);
  if (!band->colour.empty()) bands.push_back(band->colour);
  return bands;
}

std::string letter_code(double value, Unit unit) {
  if (!is_positive(value))
    throw std::invalid_argument("only a positive value has a code");
  const Scientific number = scientific(value);
  switch (unit) {
    case Unit::ohm:
      return coded(number, kOhmLetters);
    case Unit::farad:
      return coded(number, kFaradLetters);
    case Unit::henry:
      return coded(number, kHenryLetters);
    default:
      throw std::invalid_argument("only ohm, farad and henry have a letter code");
  }
}

}  // namespace benchproof
