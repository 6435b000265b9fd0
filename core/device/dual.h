#pragma once

#include <array>
#include <cmath>
#include <cstddef>

#include "core/device/number.h"

namespace benchproof {

/// A dual number: a value, and its slopes with respect to N variables. What is
/// calculated with duals has exact slopes [A. Griewank, A. Walther, "Evaluating
/// Derivatives", 2nd ed., SIAM 2008, ch. 3: the forward mode; from memory].
///
/// Comparisons are of values, but for == : a dual equals a plain number only if it
/// moves with no variable. So what an equation leaves out for a special value of its
/// argument
/// ("at the nominal temperature nothing moves") keeps its slopes.
template <std::size_t N>
struct Dual {
  double value = 0.0;
  std::array<double, N> slopes{};

  constexpr Dual() = default;
  /// A constant. Not explicit: equations mix their numbers with plain ones.
  constexpr Dual(double constant) : value(constant) {}
  /// The variable of that number.
  static constexpr Dual variable(double value, std::size_t number) {
    Dual d(value);
    d.slopes[number] = 1.0;
    return d;
  }

  friend bool operator==(const Dual&, const Dual&) = default;
  friend bool operator<(const Dual& a, const Dual& b) { return a.value < b.value; }
  friend bool operator>(const Dual& a, const Dual& b) { return a.value > b.value; }
  friend bool operator<=(const Dual& a, const Dual& b) { return a.value <= b.value; }
  friend bool operator>=(const Dual& a, const Dual& b) { return a.value >= b.value; }

  friend Dual operator+(const Dual& a, const Dual& b) {
    return joined(a.value + b.value, a, 1.0, b, 1.0);
  }
  friend Dual operator-(const Dual& a, const Dual& b) {
    return joined(a.value - b.value, a, 1.0, b, -1.0);
  }
  friend Dual operator-(const Dual& a) { return moved(-a.value, a, -1.0); }
  friend Dual operator*(const Dual& a, const Dual& b) {
    return joined(a.value * b.value, a, b.value, b, a.value);
  }
  /// Where `b` is infinite the quotient is 0 and does not move.
  friend Dual operator/(const Dual& a, const Dual& b) {
    const double quotient = a.value / b.value;
    return joined(quotient, a, 1.0 / b.value, b, -quotient / b.value);
  }

  friend Dual exp(const Dual& x) {
    const double e = std::exp(x.value);
    return moved(e, x, e);
  }
  friend Dual log(const Dual& x) { return moved(std::log(x.value), x, 1.0 / x.value); }
  friend Dual log1p(const Dual& x) {
    return moved(std::log1p(x.value), x, 1.0 / (1.0 + x.value));
  }
  friend Dual pow(const Dual& x, double exponent) {
    return moved(std::pow(x.value, exponent), x,
                 exponent * std::pow(x.value, exponent - 1.0));
  }
  friend Dual tanh(const Dual& x) {
    const double t = std::tanh(x.value);
    return moved(t, x, 1.0 - t * t);
  }
  friend Dual abs(const Dual& x) {
    return moved(std::abs(x.value), x, std::copysign(1.0, x.value));
  }
  friend Dual sqrt(const Dual& x) {
    const double root = std::sqrt(x.value);
    return moved(root, x, 0.5 / root);
  }
  friend bool isfinite(const Dual& x) { return std::isfinite(x.value); }

 private:
  static Dual moved(double value, const Dual& a, double by_a) {
    Dual d(value);
    for (std::size_t k = 0; k < N; ++k) d.slopes[k] = by_a * a.slopes[k];
    return d;
  }
  static Dual joined(double value, const Dual& a, double by_a, const Dual& b,
                     double by_b) {
    Dual d(value);
    for (std::size_t k = 0; k < N; ++k)
      d.slopes[k] = by_a * a.slopes[k] + by_b * b.slopes[k];
    return d;
  }
};

/// A dual number with a variable for each number of a model, in the order of kNumbers,
/// and the temperature as its last.
template <class Model>
using DualOf = Dual<Model::kNumbers.size() + 1>;

}  // namespace benchproof
