#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/steps.h"

// Positions of switches, and levels of outputs, in states.

namespace benchproof {
namespace {

bool is_one_of(std::string_view words, const std::string& word) {
  const std::vector<std::string> all = split_words(words);
  return std::find(all.begin(), all.end(), word) != all.end();
}

/// An output that is "on" is high.
void name_level(TomlNode& value) {
  const std::string word = lower_case(value.text);
  if (value.type == TomlNode::Type::string && (word == "on" || word == "off"))
    value.text = word == "on" ? "high" : "low";
}

/// The levels of a chip's outputs: of one pin, or of those of a table.
void name_levels(TomlNode& value, const std::string& pin) {
  if (!pin.empty()) {
    name_level(value);
  } else if (value.type == TomlNode::Type::table) {
    for (TomlEntry& output : value.entries) name_level(output.value);
  }
}

/// Whether a switch is said to be closed; nothing where neither is said.
std::optional<bool> is_closed(const TomlNode& value) {
  if (value.type == TomlNode::Type::boolean) return value.flag;
  if (value.type != TomlNode::Type::string) return std::nullopt;
  const std::string word = lower_case(value.text);
  if (is_one_of("on closed true yes pressed pushed", word)) return true;
  if (is_one_of("off open false no released", word)) return false;
  return std::nullopt;
}

bool is_of_kind(const NamedThing* thing, KindId kind) {
  return thing != nullptr && thing->kind != nullptr && thing->kind->id == kind;
}

}  // namespace

void name_positions(Wording& words) {
  for (TomlEntry& state : lines_behind(words, "states"))
    for (TomlEntry& target : state.value.entries) {
      const auto [owner, pin] = split_at_dot(target.key);
      if (is_of_kind(thing_called(words, owner), KindId::controller)) {
        name_levels(target.value, pin);
      } else if (is_of_kind(thing_called(words, target.key), KindId::switch_)) {
        if (const auto closed = is_closed(target.value))
          target.value = text_node(*closed ? "closed" : "open", target.value.span);
      }
    }
}

}  // namespace benchproof
