#pragma once

#include <cmath>

namespace benchproof {

/// A number with nine significant digits: what an order compares, so that it does not
/// hang on what rounding leaves between equals, such as two lamps of one kind.
[[nodiscard]] inline double nine_digits(double value) {
  if (value == 0.0 || !std::isfinite(value)) return value;
  const double scale = std::pow(10.0, 8.0 - std::floor(std::log10(std::abs(value))));
  return std::isfinite(scale) ? std::round(value * scale) / scale : value;
}

}  // namespace benchproof
