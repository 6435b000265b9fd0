#include <algorithm>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/steps.h"

// Names of pins.

namespace benchproof {
namespace {

/// The pin "a" or "b" that is meant by a name, where `names` are all that the part's
/// pins are given; empty for one that is right, or doubtful. Of two names the one for
/// the first pin comes first, unless one is a pin's own.
std::string even_pin(const std::vector<std::string>& names, const std::string& pin) {
  if (names.size() > 2) return {};
  Part two;
  two.pins = {"a", "b"};
  for (const std::string& name : names)
    if (name != pin && (name == "a" || name == "b")) {
      // A misspelt pin beside a right one is told.
      const std::string other = name == "a" ? "b" : "a";
      return meant_pin(two, pin) == other ? other : std::string();
    }
  if (names.size() == 1) return std::string(meant_pin(two, pin));
  const std::string_view first = meant_pin(two, names[0]);
  const std::string_view second = meant_pin(two, names[1]);
  if (first.empty() || second.empty() || first == second) return {};
  return std::string(pin == names[0] ? first : second);
}

/// The pin that is meant by a name, of a part whose pins are not alike.
std::string polar_pin(const NamedThing& part, const std::string& pin) {
  Part like;
  like.kind = part.kind->id;
  like.pins = part.pins;
  return std::string(taken_pin(like, pin));
}

bool has_pin(const NamedThing& part, const std::string& pin) {
  return std::find(part.pins.begin(), part.pins.end(), pin) != part.pins.end() ||
         std::find(part.own.begin(), part.own.end(), pin) != part.own.end();
}

}  // namespace

void name_pins(Wording& words) {
  bool are_known = true;
  each_item(words, [&](const WiredItem& wired) {
    const auto [owner, pin] = split_at_dot(wired.item.text);
    const NamedThing* part = thing_called(words, owner);
    are_known = are_known && (part == nullptr || part->kind == nullptr || pin.empty() ||
                              has_pin(*part, pin));
  });
  if (are_known) return;
  std::map<std::string, std::vector<std::string>> even;  ///< Names that pins are given.
  each_item(words, [&](const WiredItem& wired) {
    const auto [owner, pin] = split_at_dot(wired.item.text);
    const NamedThing* part = thing_called(words, owner);
    if (part == nullptr || !part->is_even() || pin.empty()) return;
    std::vector<std::string>& names = even[owner];
    if (std::find(names.begin(), names.end(), pin) == names.end()) names.push_back(pin);
  });
  each_item(words, [&](const WiredItem& wired) {
    const auto [owner, pin] = split_at_dot(wired.item.text);
    const NamedThing* part = thing_called(words, owner);
    if (part == nullptr || part->kind == nullptr || pin.empty() || has_pin(*part, pin))
      return;
    const std::string meant =
        part->is_even() ? even_pin(even[owner], pin) : polar_pin(*part, pin);
    if (!meant.empty()) wired.item.text = owner + "." + meant;
  });
}

}  // namespace benchproof
