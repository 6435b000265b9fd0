#pragma once

#include <algorithm>
#include <type_traits>

/// The device equations (and core/nodal's stamps) are templates over the number that
/// they calculate with: a double; a dual number, which knows its slopes
/// (core/device/dual.h); in tests a number of more digits; or several values side by
/// side, one lane for each circuit. A number of lanes needs
///
/// - construction from a double, which every lane then holds;
/// - + - * / and the comparisons, with its like and with doubles; a comparison gives a
///   mask, one truth for each lane, and masks are joined by ||, && and !;
/// - beside it in its namespace: select(mask, a, b), all(mask), any(mask), and those of
///   exp, log, abs, sqrt and tanh that the equation calls.
///
/// One source then serves all: a single number takes one branch and skips the other,
/// lanes that differ take both and keep from each what is theirs.
namespace benchproof {

[[nodiscard]] inline bool all(bool mask) { return mask; }
[[nodiscard]] inline bool any(bool mask) { return mask; }

/// `a` where the mask holds, else `b`.
template <class Number>
[[nodiscard]] Number select(bool mask, const Number& a, const Number& b) {
  return mask ? a : b;
}

/// What `then` returns where the mask holds, else what `otherwise` returns. A branch
/// that no lane needs is not run; where lanes differ both are: neither may do more than
/// return a value. What they return must have a `select`.
template <class Mask, class Then, class Otherwise>
[[nodiscard]] auto either(const Mask& mask, const Then& then,
                          const Otherwise& otherwise) {
  if constexpr (std::is_same_v<Mask, bool>) {
    return mask ? then() : otherwise();
  } else {
    if (all(mask)) return then();
    if (!any(mask)) return otherwise();
    return select(mask, then(), otherwise());
  }
}

/// `x`, kept within `low` and `high`.
template <class Number>
[[nodiscard]] Number bounded(Number x, double low, double high) {
  if constexpr (std::is_same_v<Number, double>) {
    return std::clamp(x, low, high);
  } else {
    return select(x < low, Number(low), select(x > high, Number(high), x));
  }
}

}  // namespace benchproof
