#include "core/base/detail/wire_gauge.h"

#include <fmt/format.h>

#include <cmath>

#include "core/base/detail/decimal.h"
#include "core/base/detail/units.h"

namespace benchproof {
namespace {

/// The cross-section of a wire by its gauge in square metres. The diameter follows the
/// rule of ASTM B258: number 36 is 0.005 inch, number 0000 (here -3) is 0.46 inch, in
/// 39 equal ratio steps.
double gauge_area(int number) {
  constexpr double kInch = 0.0254;
  constexpr double kPi = 3.14159265358979323846;
  const double diameter = 0.005 * kInch * std::pow(92.0, (36 - number) / 39.0);
  return kPi / 4 * diameter * diameter;
}

}  // namespace

std::variant<double, QuantityError> parse_gauge(std::string_view text,
                                                std::size_t offset) {
  constexpr int kThinnest = 56;
  const std::size_t begin = after_blanks(text, 0);
  const std::string_view number = text.substr(begin);
  const bool is_whole = !number.empty() && count_digits(number) == number.size();
  if (!is_whole)
    return quantity_error(QuantityError::Kind::malformed, offset + begin,
                          "a gauge is a whole number from 0 to 56, or 00, 000, 0000",
                          Unit::square_metre);
  const bool is_all_zeros = number.find_first_not_of('0') == std::string_view::npos;
  if (is_all_zeros && number.size() <= 4)
    return gauge_area(1 - static_cast<int>(number.size()));
  const int gauge = whole_number(number);
  if (is_all_zeros || gauge > kThinnest)
    return quantity_error(
        QuantityError::Kind::out_of_range, offset + begin,
        fmt::format("there is no gauge '{}': they run from 0000 to 56", number),
        Unit::square_metre);
  return gauge_area(gauge);
}

}  // namespace benchproof
