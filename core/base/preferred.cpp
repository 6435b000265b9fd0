#include "core/base/preferred.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace benchproof {
namespace {

constexpr std::array<std::pair<Series, std::string_view>, 7> kNames = {
    {{Series::e3, "E3"},
     {Series::e6, "E6"},
     {Series::e12, "E12"},
     {Series::e24, "E24"},
     {Series::e48, "E48"},
     {Series::e96, "E96"},
     {Series::e192, "E192"}}};
constexpr std::array kSizes = {3, 6, 12, 24, 48, 96, 192};

/// E24 in hundredths, as IEC 60063 lists it; E12, E6 and E3 are every second, fourth
/// and eighth of them.
constexpr std::array kE24 = {100, 110, 120, 130, 150, 160, 180, 200,
                             220, 240, 270, 300, 330, 360, 390, 430,
                             470, 510, 560, 620, 680, 750, 820, 910};

/// Value number `index` of a decade, in hundredths of the decade's first. E48 to E192
/// are powers of ten rounded to three digits, but for one value that IEC 60063 sets
/// otherwise (9.20, not 9.19).
int hundredths(Series series, int index) {
  const int size = decade_size(series);
  if (size <= 24) return kE24[static_cast<std::size_t>(index) * (24 / size)];
  constexpr int kExceptionOf192 = 185;
  if (index * (192 / size) == kExceptionOf192) return 920;
  return static_cast<int>(std::lround(100.0 * std::pow(10.0, double(index) / size)));
}

/// number * 10^exponent as the nearest double: powers of ten up to 22 are exact.
double decimal(int number, int exponent) {
  constexpr std::array kTens = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
  const double power = kTens.at(static_cast<std::size_t>(std::abs(exponent)));
  return exponent < 0 ? number / power : number * power;
}

/// Value number `step` counted from 1, over all decades.
double value_at(Series series, int step) {
  const int size = decade_size(series);
  const int index = ((step % size) + size) % size;
  return decimal(hundredths(series, index), (step - index) / size - 2);
}

void check_range(double value) {
  constexpr double kLeast = 1e-18;
  constexpr double kMost = 1e18;
  if (!(value >= kLeast && value <= kMost))
    throw std::invalid_argument("preferred values are looked up from 1e-18 to 1e18");
}

/// The number of the largest value that is at most `value`.
int step_at_most(Series series, double value) {
  check_range(value);
  const double most = value * (1.0 + kPreferredBlur);
  int step = static_cast<int>(std::floor(decade_size(series) * std::log10(value)));
  while (value_at(series, step) > most) --step;
  while (value_at(series, step + 1) <= most) ++step;
  return step;
}

}  // namespace

std::string_view series_word(Series series) {
  return kNames[static_cast<std::size_t>(series)].second;
}

std::optional<Series> find_series(std::string_view name) {
  const auto found =
      std::find_if(kNames.begin(), kNames.end(), [name](const auto& row) {
        return name.size() == row.second.size() && (name[0] == 'E' || name[0] == 'e') &&
               name.substr(1) == row.second.substr(1);
      });
  return found == kNames.end() ? std::nullopt : std::optional(found->first);
}

int decade_size(Series series) { return kSizes[static_cast<std::size_t>(series)]; }

double preferred_at_most(Series series, double value) {
  return value_at(series, step_at_most(series, value));
}

double preferred_at_least(Series series, double value) {
  const int step = step_at_most(series, value);
  const double below = value_at(series, step);
  const bool is_value = below >= value * (1.0 - kPreferredBlur);
  return is_value ? below : value_at(series, step + 1);
}

double preferred_nearest(Series series, double value) {
  const int step = step_at_most(series, value);
  const double below = value_at(series, step);
  const double above = value_at(series, step + 1);
  return above / value < value / below ? above : below;
}

bool is_preferred(Series series, double value) {
  return preferred_at_most(series, value) >= value * (1.0 - kPreferredBlur);
}

std::vector<double> preferred_between(Series series, double least, double most) {
  check_range(most);
  std::vector<double> values;
  int step = step_at_most(series, least);
  if (value_at(series, step) < least * (1.0 - kPreferredBlur)) ++step;
  for (; value_at(series, step) <= most * (1.0 + kPreferredBlur); ++step)
    values.push_back(value_at(series, step));
  return values;
}

}  // namespace benchproof
