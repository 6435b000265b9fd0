#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "core/circuit/read/detail/part_reading.h"

// The keys of a part, and which belong together.

namespace benchproof {
namespace {

bool has_any(const std::vector<GivenKey>& list, const std::vector<std::string>& keys) {
  return std::any_of(keys.begin(), keys.end(), [&list](const std::string& key) {
    return find_given(list, key) != nullptr;
  });
}

/// "'chemistry' and 'size'".
std::string both(const std::vector<std::string>& keys) {
  return fmt::format("'{}'", fmt::join(keys, "' and '"));
}

/// Tells the keys that a part needs and does not have.
void check_required(Reading& reading, const Kind& kind, const Part& part,
                    const std::vector<GivenKey>& list, bool has_stranger) {
  std::vector<std::string> missing;
  std::vector<std::string> about;
  for (const std::string& key : split_words(kind.required)) {
    if (find_given(list, key) != nullptr) continue;
    missing.push_back(key);
    about.push_back(fmt::format("{}: {}", key, find_key(kind, key)->about));
    // Which value is wanted is what many do not know yet.
    if (kind.id == KindId::resistor && key == "value")
      about.back() +=
          "; to have it worked out put any, such as \"470R\", and ask 'benchproof "
          "size'";
  }
  if (missing.empty()) return;
  if (has_stranger)
    return advise(reading, fmt::format("a {} needs {}", kind.name, both(missing)));
  complain(reading, kKeyMissing, part.span,
           fmt::format("{} needs the key{} {}", quoted(part.name),
                       missing.size() > 1 ? "s" : "", both(missing)),
           fmt::format("{}", fmt::join(about, "; ")),
           fmt::format("{} without {}", kind.name, both(missing)));
}

/// A parameter of a model that says the same as a key of the part.
struct Twin {
  KindId kind;
  std::string_view parameter;
  std::string_view key;
};
constexpr std::array kTwins = {
    Twin{KindId::diode, "cjo", "junction_capacitance"},
    Twin{KindId::zener, "cjo", "junction_capacitance"},
    Twin{KindId::led, "cjo", "junction_capacitance"},
    Twin{KindId::transistor, "cje", "emitter_capacitance"},
    Twin{KindId::transistor, "cjc", "collector_capacitance"},
    Twin{KindId::mosfet, "cgs", "input_capacitance"},
    Twin{KindId::mosfet, "cgd", "reverse_capacitance"},
    Twin{KindId::mosfet, "cds", "output_capacitance"},
};

}  // namespace

std::vector<GivenKey> given_keys(std::string_view part, const TomlNode& table) {
  std::vector<GivenKey> list;
  for (const TomlEntry& item : table.entries) {
    if (item.key == "kind" || item.key == "label" || item.key == "shape" ||
        item.key == "legs")
      continue;
    std::string target = "'";
    target.append(part).append(".").append(item.key).append("'");
    list.push_back({item.key, item.key_span, item.value, std::move(target)});
  }
  return list;
}

const GivenKey* find_given(const std::vector<GivenKey>& list, std::string_view key) {
  const auto found =
      std::find_if(list.begin(), list.end(),
                   [key](const GivenKey& given) { return given.key == key; });
  return found == list.end() ? nullptr : &*found;
}

void check_company(Reading& reading, const Kind& kind, const Part& part,
                   const std::vector<GivenKey>& list, bool has_stranger) {
  check_required(reading, kind, part, list, has_stranger);
  const std::vector<std::string> one_of = split_words(kind.one_of);
  const GivenKey* first = nullptr;
  for (const GivenKey& given : list) {
    if (std::find(one_of.begin(), one_of.end(), given.key) == one_of.end()) continue;
    if (first != nullptr)
      complain(reading, kKeyConflict, given.key_span,
               fmt::format("{} has both '{}' and '{}'", quoted(part.name), first->key,
                           given.key),
               fmt::format("give one of: {}", fmt::join(one_of, ", ")));
    if (first == nullptr) first = &given;
  }
  if (!one_of.empty() && first == nullptr) {
    if (has_stranger)
      advise(reading,
             fmt::format("a {} needs one of: {}", kind.name, fmt::join(one_of, ", ")));
    else
      complain(reading, kKeyMissing, part.span,
               fmt::format("{} does not say what it is", quoted(part.name)),
               fmt::format("give one of: {}", fmt::join(one_of, ", ")),
               fmt::format("{} that does not say what it is", kind.name));
  }

  for (const Key& key : kind.keys) {
    if (key.only_with.empty() && key.needed_with.empty()) continue;
    const GivenKey* given = find_given(list, key.name);
    if (given != nullptr) {
      const std::vector<std::string> mates = split_words(key.only_with);
      if (!mates.empty() && !has_any(list, mates) && !has_stranger)
        complain(reading, kKeyNeeds, given->key_span,
                 fmt::format("'{}' of {} means nothing without '{}'", key.name,
                             quoted(part.name), fmt::join(mates, "' or '")),
                 "", fmt::format("'{}' of a {} without its mate", key.name, kind.name));
      continue;
    }
    for (const std::string& mate : split_words(key.needed_with))
      if (const GivenKey* other = find_given(list, mate); other && !has_stranger)
        complain(reading, kKeyNeeds, other->key_span,
                 fmt::format("'{}' of {} needs '{}' beside it", mate, quoted(part.name),
                             key.name),
                 fmt::format("{}: {}", key.name, key.about),
                 fmt::format("'{}' of a {} without '{}'", mate, kind.name, key.name));
  }
  if (kind.id == KindId::controller && !has_stranger &&
      !has_any(list, {"outputs", "inputs", "analogue"}))
    complain(reading, kKeyMissing, part.span,
             fmt::format("{} has neither outputs nor inputs", quoted(part.name)),
             "list the pins' names: outputs = [\"lamp\"]");
}

void check_twins(Reading& reading, const Part& part,
                 const std::vector<GivenKey>& list) {
  const GivenKey* model = find_given(list, "model");
  if (model == nullptr || model->value.type != TomlNode::Type::table) return;
  for (const Twin& twin : kTwins) {
    const GivenKey* given = find_given(list, twin.key);
    if (twin.kind != part.kind || given == nullptr ||
        find_entry(model->value, twin.parameter) == nullptr)
      continue;
    complain(reading, kKeyConflict, given->key_span,
             fmt::format("{} has both '{}' and the '{}' of its model",
                         quoted(part.name), twin.key, twin.parameter),
             "give one of them");
  }
}

}  // namespace benchproof
