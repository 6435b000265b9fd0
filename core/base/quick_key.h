#pragma once

#include <algorithm>
#include <cstddef>
#include <string>
#include <string_view>

namespace benchproof {

/// A name to look up in a map of std::less<> that is ordered by texts. Most keys differ
/// in their first letter, and they are looked up by the thousand: to look at that takes
/// less than a call of memcmp for each pair.
struct QuickKey {
  std::string_view text;

  friend bool operator<(const std::string& a, QuickKey b) noexcept {
    return comes_before(a, b.text);
  }
  friend bool operator<(QuickKey a, const std::string& b) noexcept {
    return comes_before(a.text, b);
  }

  /// The order of std::string.
  static bool comes_before(std::string_view a, std::string_view b) noexcept {
    const std::size_t common = std::min(a.size(), b.size());
    if (common == 0) return a.size() < b.size();
    if (a[0] != b[0])
      return static_cast<unsigned char>(a[0]) < static_cast<unsigned char>(b[0]);
    const int rest =
        std::string_view::traits_type::compare(a.data() + 1, b.data() + 1, common - 1);
    return rest != 0 ? rest < 0 : a.size() < b.size();
  }
};

}  // namespace benchproof
