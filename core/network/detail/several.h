#pragma once

#include <array>
#include <cstddef>

namespace benchproof {

/// One quantity at several points of a waveform, to be calculated with as with one
/// number.
struct Several {
  static constexpr std::size_t kCount = 64;
  std::array<double, kCount> at;

  friend Several operator-(const Several& a) {
    Several r;
    for (std::size_t i = 0; i < kCount; ++i) r.at[i] = -a.at[i];
    return r;
  }
  friend Several operator-(const Several& a, const Several& b) {
    Several r;
    for (std::size_t i = 0; i < kCount; ++i) r.at[i] = a.at[i] - b.at[i];
    return r;
  }
  friend Several operator/(const Several& a, const Several& b) {
    Several r;
    for (std::size_t i = 0; i < kCount; ++i) r.at[i] = a.at[i] / b.at[i];
    return r;
  }
};

/// What a function of doubles is for a number, or at each of several points.
template <class Function, class... More>
[[nodiscard]] double of_each(const Function& f, double first, More... more) {
  return f(first, more...);
}
template <class Function, class... More>
[[nodiscard]] Several of_each(const Function& f, const Several& first,
                              const More&... more) {
  Several r;
  for (std::size_t i = 0; i < Several::kCount; ++i)
    r.at[i] = f(first.at[i], more.at[i]...);
  return r;
}

/// The same of a function that tells three.
template <class Function, class... More>
[[nodiscard]] std::array<double, 3> three_of_each(const Function& f, double first,
                                                  More... more) {
  return f(first, more...);
}
template <class Function, class... More>
[[nodiscard]] std::array<Several, 3> three_of_each(const Function& f,
                                                   const Several& first,
                                                   const More&... more) {
  std::array<Several, 3> r;
  for (std::size_t i = 0; i < Several::kCount; ++i) {
    const std::array<double, 3> three = f(first.at[i], more.at[i]...);
    for (std::size_t end = 0; end < 3; ++end) r[end].at[i] = three[end];
  }
  return r;
}

}  // namespace benchproof
