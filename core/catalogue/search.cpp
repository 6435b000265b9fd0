#include "core/catalogue/search.h"

#include <algorithm>

#include "core/base/diagnostic.h"
#include "core/base/pieces.h"
#include "core/catalogue/other_names.h"

namespace benchproof {
namespace {

bool is_listed(const Type& type) { return type.name != "default"; }

/// Whether a word is one of those that the type is called by, or part of one.
bool matches(const Type& type, const std::string& word, bool is_whole) {
  const auto holds = [&](std::string_view text) {
    const std::string all = lower_case(text);
    if (!is_whole) return all.find(word) != std::string::npos;
    const std::vector<std::string> words = split_words(all);
    return std::find(words.begin(), words.end(), word) != words.end();
  };
  return holds(type.name) || holds(kind(type.kind).name) ||
         std::any_of(type.words.begin(), type.words.end(),
                     [&](const auto& entry) { return holds(entry.second); });
}

}  // namespace

Found search(const Catalogue& catalogue, std::string_view words) {
  const std::string wanted = lower_case(words);
  const std::vector<std::string> pieces = split_words(wanted);
  Found found;
  if (pieces.empty()) return found;
  const auto collect = [&](const auto& is_wanted) {
    for (const Type& type : catalogue.types())
      if (is_listed(type) && is_wanted(type)) found.types.push_back(&type);
    return !found.types.empty();
  };
  if (collect([&](const Type& type) { return lower_case(type.name) == wanted; })) {
    found.is_exact = true;
    return found;
  }
  if (const Kind* known = find_kind(wanted)) {
    collect([&](const Type& type) { return type.kind == known->id; });
    return found;
  }
  for (const bool is_whole : {true, false}) {
    const bool is_done = collect([&](const Type& type) {
      return std::all_of(pieces.begin(), pieces.end(), [&](const std::string& piece) {
        return matches(type, piece, is_whole);
      });
    });
    if (is_done) return found;
  }
  if (const Kind* called = find_kind_called(wanted))
    collect([&](const Type& type) { return type.kind == called->id; });
  return found;
}

std::vector<std::string> near_names(const Catalogue& catalogue, std::string_view name,
                                    std::size_t most) {
  std::vector<std::string> candidates;
  const auto add = [&candidates](std::string_view candidate) {
    if (std::find(candidates.begin(), candidates.end(), candidate) == candidates.end())
      candidates.emplace_back(candidate);
  };
  for (const Type& type : catalogue.types()) {
    if (!is_listed(type)) continue;
    add(type.name);
    add(kind(type.kind).name);
    for (const auto& [key, word] : type.words) add(word);
  }
  std::vector<std::string> names;
  while (names.size() < most) {
    const std::string near = nearest(name, candidates);
    if (near.empty()) break;
    names.push_back(near);
    candidates.erase(std::find(candidates.begin(), candidates.end(), near));
  }
  return names;
}

std::vector<const Key*> keys_beside_type(const Kind& kind) {
  const auto has = [](std::string_view list, std::string_view name) {
    const std::vector<std::string> names = split_words(list);
    return std::find(names.begin(), names.end(), name) != names.end();
  };
  std::vector<const Key*> keys;
  for (const Key& key : kind.keys) {
    if (has(kind.one_of, key.name) || has(kind.required, key.name)) continue;
    const std::vector<std::string> mates = split_words(key.only_with);
    const bool is_usable =
        mates.empty() ||
        std::any_of(mates.begin(), mates.end(), [&](const std::string& mate) {
          return !has(kind.one_of, mate) && !has(kind.required, mate);
        });
    // A battery's charge chooses the type.
    const bool chooses = kind.id == KindId::battery && key.name == "charge";
    if (is_usable && !chooses && key.name != "type") keys.push_back(&key);
  }
  return keys;
}

}  // namespace benchproof
