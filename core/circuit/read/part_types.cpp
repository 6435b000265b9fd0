#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <string>
#include <vector>

#include "core/catalogue/other_names.h"
#include "core/circuit/read/detail/part_reading.h"
#include "core/circuit/read/detail/steps.h"

// The catalogue's type of a part.

namespace benchproof {
namespace {

/// What to say of a word that is none of the known ones: the nearest, or one that the
/// text holds besides others, as where a shop's title is copied.
std::string word_hint(Reading& reading, const std::string& text,
                      const std::vector<std::string>& known, std::string_view what,
                      std::size_t most = kMostListed) {
  std::string near;
  if (reading.suggestions_left-- > 0) {
    near = nearest(text, known);
    if (near.empty()) near = held_word(text, known);
  }
  return names_hint(near, known, what, most);
}

/// What to say of a type that the catalogue does not have.
std::string type_hint(Reading& reading, const Kind& kind, const std::string& name) {
  for (const std::string_view key : {"colour", "chemistry"}) {
    if (find_key(kind, key) == nullptr) continue;
    const std::string word = same_word(name, reading.catalogue, kind.id, key);
    if (!word.empty()) return fmt::format("write {} = \"{}\"", key, word);
  }
  return word_hint(reading, name, reading.catalogue.names(kind.id), "types");
}

/// Looks up the type that a part names, and puts the catalogue's name of it in place of
/// the part's.
void find_named_type(Reading& reading, const Kind& kind, Part& part) {
  const std::string* name = given_text(part, "type");
  if (name == nullptr) return;
  part.type = find_called(reading.catalogue, kind.id, *name);
  if (part.type != nullptr) {
    part.settings.find("type")->second.value = part.type->name;
    return;
  }
  complain(reading, kTypeUnknown, span_of(part, "type"),
           fmt::format("the catalogue has no {} {}", kind.name, quoted(*name)),
           type_hint(reading, kind, *name));
}

/// Looks up the class of parts that a part's words name: an LED's colour and size, a
/// battery's chemistry and size.
void find_type_by_words(Reading& reading, const Kind& kind, Part& part,
                        const std::vector<std::string>& keys) {
  std::map<std::string, std::string, std::less<>> words;
  for (const std::string& key : keys) {
    const std::string* text = given_text(part, key);
    if (text == nullptr) continue;
    if (const std::string same = same_word(*text, reading.catalogue, kind.id, key);
        !same.empty()) {
      words[key] = same;
      part.settings.find(key)->second.value = same;
      continue;
    }
    const std::vector<std::string> known = reading.catalogue.words(kind.id, key);
    complain(
        reading, kTypeUnknown, span_of(part, key),
        fmt::format("the catalogue has no {} of {} {}", kind.name, key, quoted(*text)),
        word_hint(reading, *text, known, key, known.size()));
    return;
  }
  if (!words.contains(keys.front())) return;
  if (kind.id == KindId::battery && words.size() < keys.size()) return;
  part.type = kind.id == KindId::battery
                  ? find_battery(reading.catalogue, part)
                  : reading.catalogue.find_by_words(kind.id, words);
  if (part.type != nullptr) return;
  std::string wanted;
  for (const auto& [key, text] : words)
    wanted += fmt::format("{}{} {}", wanted.empty() ? "" : " and ", key, quoted(text));
  complain(reading, kTypeUnknown, span_of(part, keys.front()),
           fmt::format("the catalogue has no {} of {}", kind.name, wanted));
}

/// The battery of a charge, and of a part's chemistry and size.
const Type* find_battery(const Catalogue& catalogue, const Part& part,
                         const std::string& charge) {
  return catalogue.find_by_words(KindId::battery,
                                 {{"chemistry", word_of(part, "chemistry")},
                                  {"size", word_of(part, "size")},
                                  {"charge", charge}});
}

}  // namespace

const Type* find_battery(const Catalogue& catalogue, const Part& part) {
  const std::string* charge = given_text(part, "charge");
  return find_battery(catalogue, part, charge != nullptr ? *charge : "fresh");
}

std::map<std::string, const Type*> batteries_by_charge(const Catalogue& catalogue,
                                                       const Part& part) {
  std::map<std::string, const Type*> charges;
  for (const char* charge : {"fresh", "half", "spent"})
    charges[charge] = find_battery(catalogue, part, charge);
  return charges;
}

void find_type(Reading& reading, const Kind& kind, Part& part) {
  find_named_type(reading, kind, part);
  if (kind.id == KindId::led)
    find_type_by_words(reading, kind, part, {"colour", "size"});
  if (kind.id == KindId::battery)
    find_type_by_words(reading, kind, part, {"chemistry", "size"});
}

}  // namespace benchproof
