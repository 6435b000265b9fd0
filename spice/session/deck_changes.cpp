#include "spice/session/detail/deck_changes.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <string_view>
#include <utility>

#include "core/base/quantity.h"

namespace benchproof {
namespace {

/// A line's last word and what stands before it.
struct Line {
  std::string_view before;
  std::string_view last;
};

Line split(std::string_view line) {
  const std::size_t at = std::min(line.rfind(' '), line.size());
  return {line.substr(0, at), line.substr(std::min(at + 1, line.size()))};
}

/// The number that a word is, as `shortest` writes it.
std::optional<double> number_in(std::string_view word) {
  double value = 0.0;
  std::from_chars(word.data(), word.data() + word.size(), value);
  if (!std::isfinite(value) || shortest(value) != word) return std::nullopt;
  return value;
}

/// The change that makes one line of the other, if one can.
std::optional<wire::Change> change_between(std::string_view held,
                                           std::string_view wanted) {
  const auto [before, last] = split(wanted);
  const std::string_view element = before.substr(0, before.find(' '));
  const auto value = number_in(last);
  if (split(held).before != before || !wire::can_change(element) || !value ||
      std::count(before.begin(), before.end(), ' ') != 2)
    return std::nullopt;
  return wire::Change{std::string(element), *value};
}

}  // namespace

std::optional<std::vector<wire::Change>> changes_between(
    const std::vector<std::string>& held, const std::vector<std::string>& wanted) {
  if (held.size() != wanted.size()) return std::nullopt;
  std::vector<wire::Change> changes;
  for (std::size_t k = 0; k < held.size(); ++k) {
    if (held[k] == wanted[k]) continue;
    const bool goes_on = k + 1 < wanted.size() && wanted[k + 1].starts_with('+');
    auto change = change_between(held[k], wanted[k]);
    if (!change || goes_on) return std::nullopt;
    changes.push_back(std::move(*change));
  }
  return changes;
}

}  // namespace benchproof
