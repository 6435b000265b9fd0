#include "core/circuit/wording/detail/wording.h"

#include "core/base/pieces.h"
#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/like_pins.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

/// Puts a place among others, and the same place in a block.
void add_place(std::vector<Span>& places, Span place) {
  places.push_back(place);
  place.file = -1;
  places.push_back(place);
}

}  // namespace

bool NamedThing::is_even() const {
  return has_two() && has_like_pins(kind->id) && pins[0] == "a";
}

bool NamedThing::is_source_of_two() const { return has_two() && is_source(kind->id); }

TomlNode* value_behind(TomlNode& table, std::string_view key, TomlNode::Type type) {
  TomlEntry* entry = find_entry(table, key);
  return entry != nullptr && entry->value.type == type ? &entry->value : nullptr;
}

std::span<TomlEntry> lines_behind(Wording& words, std::string_view key) {
  TomlNode* table = value_behind(words.table, key, TomlNode::Type::table);
  return table != nullptr ? std::span(table->entries) : std::span<TomlEntry>();
}

const NamedThing* thing_called(const Wording& words, const std::string& name) {
  const auto found = words.things.find(name);
  return found == words.things.end() ? nullptr : &found->second;
}

std::string only_source(const Wording& words) {
  std::string found;
  for (const auto& [name, thing] : words.things) {
    if (thing.kind == nullptr || !is_source(thing.kind->id)) continue;
    if (!found.empty()) return {};
    found = name;
  }
  return found;
}

void expect_no_more(Wording& words, const Span& span) {
  add_place(words.reading.guessed, span);
}

void miss_nothing(Wording& words, const Span& span) {
  add_place(words.reading.strange, span);
}

Mentions mentions_of(Wording& words) {
  Mentions found;
  each_item(words, [&](const WiredItem& wired) {
    if (wired.line.key == kOpen && !wired.is_path) return;
    auto [owner, pin] = split_at_dot(wired.item.text);
    if (thing_called(words, owner) != nullptr)
      found[owner].push_back({wired.is_path, wired.list, wired.at, std::move(pin)});
  });
  return found;
}

std::vector<Mention> mentions_of(Wording& words, std::string_view name) {
  std::vector<Mention> places;
  each_item(words, [&](const WiredItem& wired) {
    const std::string& text = wired.item.text;
    if (!text.starts_with(name) || (wired.line.key == kOpen && !wired.is_path)) return;
    auto [owner, pin] = split_at_dot(text);
    if (owner == name)
      places.push_back({wired.is_path, wired.list, wired.at, std::move(pin)});
  });
  return places;
}

}  // namespace benchproof
