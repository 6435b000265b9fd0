#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/kinds_and_keys.h"

// Keys of parts, and the unit that a key's name says.

namespace benchproof {
namespace {

/// A unit that a key's name says: "ohms".
struct UnitKey {
  std::string_view word;
  std::string_view unit;
};
constexpr std::array kUnitKeys = {
    UnitKey{"ohms", "ohm"},     UnitKey{"ohm", "ohm"},   UnitKey{"volts", "V"},
    UnitKey{"volt", "V"},       UnitKey{"amps", "A"},    UnitKey{"amp", "A"},
    UnitKey{"ampere", "A"},     UnitKey{"amperes", "A"}, UnitKey{"watts", "W"},
    UnitKey{"watt", "W"},       UnitKey{"farads", "F"},  UnitKey{"henries", "H"},
    UnitKey{"milliamps", "mA"}, UnitKey{"wattage", "W"},
};

/// The value with the unit that its key says, where it has none.
void add_unit(TomlNode& value, std::string_view key) {
  const auto unit =
      std::find_if(kUnitKeys.begin(), kUnitKeys.end(),
                   [key](const UnitKey& entry) { return entry.word == key; });
  if (unit == kUnitKeys.end()) return;
  if (value.type == TomlNode::Type::number) {
    value =
        text_node(fmt::format("{} {}", shortest(value.number), unit->unit), value.span);
  } else if (value.type == TomlNode::Type::string && !value.text.empty() &&
             (is_digit(value.text.back()) || value.text.back() == 'k')) {
    value.text += value.text.back() == 'k' ? std::string(unit->unit)
                                           : fmt::format(" {}", unit->unit);
  }
}

/// What a text for true or false says; nothing for any other.
std::optional<bool> truth_of(const TomlNode& node) {
  if (node.type != TomlNode::Type::string) return std::nullopt;
  const std::string word = lower_case(node.text);
  if (word == "yes" || word == "true") return true;
  if (word == "no" || word == "false") return false;
  return std::nullopt;
}

/// Whether a part has another one of the keys of which it may have one.
bool has_other_of(const TomlNode& part, const Kind& kind, const std::string& key) {
  const std::vector<std::string> one_of = split_words(kind.one_of);
  return std::find(one_of.begin(), one_of.end(), key) != one_of.end() &&
         std::any_of(one_of.begin(), one_of.end(), [&part](const std::string& other) {
           return find_entry(part, other) != nullptr;
         });
}

/// Whether an entry says that there is one of the part, which a line says anyway.
bool is_count_of_one(const TomlEntry& entry) {
  return is_count(entry.key) &&
         ((entry.value.type == TomlNode::Type::number && entry.value.number == 1.0) ||
          (entry.value.type == TomlNode::Type::string && entry.value.text == "1"));
}

}  // namespace

void name_keys(TomlNode& part, const Kind& kind) {
  std::erase_if(part.entries, is_count_of_one);
  for (TomlEntry& entry : part.entries) {
    const std::string written = lower_case(entry.key);
    if (!is_key_name(kind, entry.key)) {
      const std::string meant(taken_key(kind, entry.key));
      if (meant.empty() || find_entry(part, meant) != nullptr ||
          has_other_of(part, kind, meant))
        continue;
      entry.key = meant;
      add_unit(entry.value, written);
    }
    const Key* key = find_key(kind, entry.key);
    if (key == nullptr || key->shape != Shape::flag) continue;
    if (const auto truth = truth_of(entry.value)) {
      entry.value.type = TomlNode::Type::boolean;
      entry.value.flag = *truth;
    }
  }
}

}  // namespace benchproof
