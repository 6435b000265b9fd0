#pragma once

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

namespace benchproof::test {

inline constexpr double kEps = std::numeric_limits<double>::epsilon();

/// Checks `slope` against the central difference (f(x + h) - f(x - h)) / (2 h).
///
/// Its error is at most h^2/6 of the largest third derivative, `third`, and what
/// rounding does to the two values: a few units of the last place of `terms`, the size
/// of the largest term in f, and of the argument, which x +- h rounds to. Four units
/// each are allowed. [Both: any text on numerical differentiation, such as N. Higham,
/// "Accuracy and Stability of Numerical Algorithms", 2nd ed., sec. 1.14.]
template <class Function>
void check_slope(const Function& f, double x, double h, double slope, double third,
                 double terms) {
  const double up = x + h;
  const double down = x - h;
  const double difference = (f(up) - f(down)) / (up - down);
  const double truncation = h * h / 6.0 * third;
  const double rounding =
      4.0 * kEps * (terms + std::abs(x * slope)) / h + 4.0 * kEps * std::abs(slope);
  CAPTURE(x, h, slope, difference, truncation, rounding);
  CHECK(std::abs(slope - difference) <= truncation + rounding);
}

/// Inputs that no circuit has and arithmetic must bear.
inline constexpr double kWild[] = {0.0,
                                   -0.0,
                                   std::numeric_limits<double>::denorm_min(),
                                   -std::numeric_limits<double>::denorm_min(),
                                   1e-300,
                                   -1e-300,
                                   1e-12,
                                   -1e-12,
                                   0.3,
                                   -0.3,
                                   50.0,
                                   -50.0,
                                   1e6,
                                   -1e6,
                                   1e30,
                                   -1e30,
                                   1e308,
                                   -1e308,
                                   std::numeric_limits<double>::max(),
                                   std::numeric_limits<double>::lowest()};

}  // namespace benchproof::test
