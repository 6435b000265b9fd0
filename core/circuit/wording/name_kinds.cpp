#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/catalogue/other_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/kinds_and_keys.h"
#include "core/circuit/wording/detail/steps.h"

// What parts are, and which pins they have.

namespace benchproof {
namespace {

/// A controller's own names of pins.
std::vector<std::string> own_pins(const TomlNode& part) {
  std::vector<std::string> own;
  for (const char* key : {"outputs", "inputs", "analogue"})
    if (const TomlEntry* list = find_entry(part, key))
      for (const TomlNode& item : list->value.items) own.push_back(item.text);
  return own;
}

/// The pins that every part of that kind has, as the part's keys have it.
std::vector<std::string> common_pins(const TomlNode& part, const Kind& kind) {
  const TomlEntry* polarised = find_entry(part, "polarised");
  if (kind.id == KindId::capacitor && polarised != nullptr &&
      polarised->value.type == TomlNode::Type::boolean && polarised->value.flag)
    return {"plus", "minus"};
  // A regulator's middle pin has two names.
  if (kind.id == KindId::regulator && find_entry(part, "type") != nullptr)
    return {"in", "out"};
  return split_words(kind.pins);
}

/// The entry that says the kind; a part without one is none: its `type` may be the kind
/// by its name. Null where nothing says it.
TomlEntry* find_kind_entry(TomlNode& part) {
  if (TomlEntry* kind = find_entry(part, "kind")) return kind;
  TomlEntry* type = find_entry(part, "type");
  if (type == nullptr || type->value.type != TomlNode::Type::string ||
      find_kind_called(type->value.text) == nullptr || says_more(type->value.text))
    return nullptr;
  type->key = "kind";
  return type;
}

/// Puts the kind and the keys of a part right. Null where it is not known what the part
/// is.
const Kind* name_part(Wording& words, TomlEntry& part) {
  const TomlEntry* entry = find_kind_entry(part.value);
  if (entry == nullptr || entry->value.type != TomlNode::Type::string) return nullptr;
  const Kind* kind = find_kind(lower_case(entry->value.text));
  if (kind == nullptr) kind = kind_in_words(words, part, entry->value);
  if (kind == nullptr) return nullptr;
  // The list of entries may have grown.
  find_entry(part.value, "kind")->value.text = kind->name;
  name_keys(part.value, *kind);
  return kind;
}

}  // namespace

void name_kinds(Wording& words, const BlockPins& blocks) {
  for (TomlEntry& part : lines_behind(words, "parts")) {
    if (part.value.type != TomlNode::Type::table) continue;
    NamedThing thing;
    if (const TomlEntry* block = find_entry(part.value, "block")) {
      const auto found = blocks.find(block->value.text);
      if (found != blocks.end()) thing.pins = found->second;
    } else {
      thing.kind = name_part(words, part);
      if (thing.kind == nullptr) continue;
      thing.own = own_pins(part.value);
      thing.pins = common_pins(part.value, *thing.kind);
    }
    words.things.emplace(part.key, std::move(thing));
  }
}

}  // namespace benchproof
