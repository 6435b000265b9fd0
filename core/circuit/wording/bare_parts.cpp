#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/steps.h"

// Parts that stand in lists by themselves, without a pin.

namespace benchproof {
namespace {

/// How many parts without pins behind each other have theirs found.
constexpr int kMostRounds = 32;

constexpr std::size_t kNoList = static_cast<std::size_t>(-1);

/// Lists that hang on a source's plus or minus.
struct Sides {
  std::set<std::size_t> plus;
  std::set<std::size_t> minus;

  [[nodiscard]] bool is_plus(std::size_t list) const {
    return plus.contains(list) && !minus.contains(list);
  }
  [[nodiscard]] bool is_minus(std::size_t list) const {
    return minus.contains(list) && !plus.contains(list);
  }
};

/// The lists of a part's first and second pin.
using Ends = std::pair<std::size_t, std::size_t>;

Sides sides_of_sources(Wording& words, const Mentions& named) {
  Sides sides;
  const std::span<TomlEntry> nets = lines_behind(words, "nets");
  for (std::size_t k = 0; k < nets.size(); ++k)
    if (means_ground(nets[k].key)) sides.minus.insert(k);
  for (const auto& [name, places] : named)
    for (const Mention& at : places)
      if (thing_called(words, name)->is_source_of_two() && !at.is_path &&
          !at.pin.empty())
        (at.pin == "plus" ? sides.plus : sides.minus).insert(at.list);
  return sides;
}

/// Lists that a part of two like pins joins.
using Neighbours = std::map<std::size_t, std::vector<std::size_t>>;

Neighbours joined_by_even_parts(const Wording& words, const Mentions& named) {
  Neighbours beside;
  for (const auto& [name, places] : named) {
    if (!thing_called(words, name)->is_even() || places.size() != 2) continue;
    if (places[0].is_path || places[1].is_path) continue;
    beside[places[0].list].push_back(places[1].list);
    beside[places[1].list].push_back(places[0].list);
  }
  return beside;
}

/// Parts of like pins pass a side on.
void spread(Sides& sides, Neighbours& beside) {
  for (std::set<std::size_t>* side : {&sides.plus, &sides.minus}) {
    const std::set<std::size_t>& far = side == &sides.plus ? sides.minus : sides.plus;
    std::vector<std::size_t> open(side->begin(), side->end());
    while (!open.empty()) {
      const std::size_t from = open.back();
      open.pop_back();
      for (const std::size_t to : beside[from])
        if (!far.contains(to) && side->insert(to).second) open.push_back(to);
    }
  }
}

/// Whether a part whose pins are not alike stands in one net, or two, without them.
bool is_bare_polar(const NamedThing& part, const std::vector<Mention>& places) {
  return part.has_two() && !part.is_even() && places.size() <= 2 &&
         std::all_of(places.begin(), places.end(),
                     [](const Mention& at) { return !at.is_path && at.pin.empty(); });
}

/// What is behind a part lies on the same side, until the other one is met.
void pass_side_on(Sides& sides, const Ends& ends) {
  const auto [anode, cathode] = ends;
  if (anode == kNoList || cathode == kNoList) return;
  if (sides.plus.contains(anode) && !sides.minus.contains(cathode)) {
    sides.plus.insert(cathode);
  } else if (sides.minus.contains(cathode) && !sides.plus.contains(anode)) {
    sides.minus.insert(anode);
  }
}

/// On which lists the pins of parts stand that are not alike, as far as the sides of
/// sources tell.
std::map<std::string, Ends> ends_of_bare_parts(Wording& words, const Mentions& named) {
  std::map<std::string, Ends> decided;
  Sides sides = sides_of_sources(words, named);
  Neighbours beside = joined_by_even_parts(words, named);
  bool is_more = true;
  for (int round = 0; is_more && round < kMostRounds; ++round) {
    is_more = false;
    spread(sides, beside);
    for (const auto& [name, places] : named) {
      if (!is_bare_polar(*thing_called(words, name), places) || decided.contains(name))
        continue;
      const std::size_t one = places[0].list;
      const std::size_t other = places.size() > 1 ? places[1].list : kNoList;
      const bool is_first = sides.is_plus(one) || sides.is_minus(other);
      const bool is_second = sides.is_minus(one) || sides.is_plus(other);
      if (is_first == is_second) continue;
      decided[name] = is_first ? Ends(one, other) : Ends(other, one);
      pass_side_on(sides, decided[name]);
      is_more = true;
    }
  }
  return decided;
}

TomlNode& item_at(Wording& words, const Mention& at) {
  return lines_behind(words, "nets")[at.list].value.items[at.item];
}

/// Tells which pins of a part are meant, and reads on with them; `ends` is null where
/// that is not known.
void place_polar(Wording& words, const std::string& name,
                 const std::vector<Mention>& places, const Ends* ends) {
  const NamedThing& part = *thing_called(words, name);
  std::vector<std::string> pins;
  std::string hint;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const bool is_first = ends != nullptr ? places[k].list == ends->first : k == 0;
    pins.push_back(fmt::format("{}.{}", name, part.pins[is_first ? 0 : 1]));
    hint += fmt::format("{}in line {} \"{}\"", k == 0 ? "write " : ", ",
                        item_at(words, places[k]).span.begin.line, pins.back());
  }
  if (ends == nullptr)
    hint = fmt::format(
        "write \"{}.{}\" on the side of the source's plus, \"{}.{}\" on "
        "that of its minus",
        name, part.pins[0], name, part.pins[1]);
  complain(words.reading, kPinMalformed, item_at(words, places[0]).span,
           fmt::format("{} is a part; which of its pins is meant?", quoted(name)), hint,
           fmt::format("a {} in place of its pin", part.kind->name));
  for (std::size_t k = 0; k < places.size(); ++k) {
    TomlNode& item = item_at(words, places[k]);
    item.text = pins[k];
    expect_no_more(words, item.span);
  }
  if (places.size() >= 2) return;
  // Of a part that was told of no pin is missed.
  for (const TomlEntry& each : lines_behind(words, "parts"))
    if (each.key == name) expect_no_more(words, each.key_span);
}

/// Gives a part of two like pins, or a block of one, the pins that it stands there
/// with.
void place_even(Wording& words, const std::string& name,
                const std::vector<Mention>& places) {
  const NamedThing& part = *thing_called(words, name);
  const bool is_pair = part.is_even() && places.size() == 2;
  const bool is_single = part.kind == nullptr && part.pins.size() == 1;
  if (!is_pair && !is_single) return;
  for (std::size_t k = 0; k < places.size(); ++k) {
    const Mention& at = places[k];
    if (at.is_path || !at.pin.empty()) continue;
    std::string pin = part.pins[0];
    if (is_pair && (k == 1 ? places[0].pin != "b" : places[1].pin == "a"))
      pin = part.pins[1];
    // Both ends of one part are not to be joined by a guess.
    const Mention& mate = places[is_pair ? 1 - k : k];
    if (is_pair && (mate.is_path || mate.list == at.list)) continue;
    item_at(words, at).text = name + "." + pin;
  }
}

/// Whether a list of pins passes through a part that stands nowhere else.
bool passes_through(const Wording& words, const TomlEntry& list,
                    const Mentions& named) {
  const std::vector<TomlNode>& items = list.value.items;
  for (std::size_t i = 1; i + 1 < items.size(); ++i) {
    const NamedThing* part = thing_called(words, items[i].text);
    const auto places = named.find(items[i].text);
    if (part != nullptr && part->has_two() && places != named.end() &&
        places->second.size() == 1)
      return true;
  }
  return false;
}

/// Whether any list names a part by itself between two others: where none does, no
/// list can pass through one.
bool may_pass_through(const Wording& words, const std::vector<TomlEntry>& lists) {
  return std::any_of(lists.begin(), lists.end(), [&words](const TomlEntry& list) {
    const std::vector<TomlNode>& items = list.value.items;
    return items.size() > 2 &&
           std::any_of(items.begin() + 1, items.end() - 1, [&words](const TomlNode& i) {
             return thing_called(words, i.text) != nullptr;
           });
  });
}

/// Whether a list of pins names a part by itself.
bool has_bare_part(Wording& words) {
  bool is_there = false;
  each_item(words, [&](const WiredItem& wired) {
    const std::string& text = wired.item.text;
    const std::size_t dot = text.find('.');
    const bool is_bare = dot == std::string::npos || dot + 1 == text.size();
    is_there = is_there || (is_bare && !wired.is_path &&
                            thing_called(words, text.substr(0, dot)) != nullptr);
  });
  return is_there;
}

/// Tells that lists are paths, where the person called them nets.
void tell_paths(Wording& words, const std::vector<TomlEntry>& paths, bool are_all) {
  for (const TomlEntry& path : paths)
    complain(words.reading, kPathWord, path.key_span,
             fmt::format("{} passes through parts, so it is a path and no net",
                         quoted(path.key)),
             are_all ? "write [paths] in place of [nets]" : "put it under [paths]",
             "a path under [nets]");
}

}  // namespace

void move_paths(Wording& words) {
  TomlEntry* nets = find_entry(words.table, "nets");
  if (nets == nullptr || nets->value.type != TomlNode::Type::table) return;
  if (!may_pass_through(words, nets->value.entries)) return;
  const Mentions named = mentions_of(words);
  std::vector<TomlEntry> paths;
  std::vector<TomlEntry> rest;
  for (TomlEntry& list : nets->value.entries) {
    const bool is_path = list.key != kOpen && passes_through(words, list, named);
    (is_path ? paths : rest).push_back(std::move(list));
  }
  nets->value.entries = std::move(rest);
  if (paths.empty()) return;
  const bool are_all = nets->value.entries.empty();
  if (words.loose_nets.empty()) tell_paths(words, paths, are_all);
  TomlEntry* into = find_entry(words.table, "paths");
  if (are_all && into == nullptr) {
    nets->key = "paths";
    nets->value.entries = std::move(paths);
    return;
  }
  if (into == nullptr) {
    TomlNode table;
    table.span = nets->key_span;
    words.table.entries.push_back({"paths", table.span, std::move(table)});
    into = &words.table.entries.back();
  }
  if (into->value.type == TomlNode::Type::table)
    std::move(paths.begin(), paths.end(), std::back_inserter(into->value.entries));
}

void place_bare_parts(Wording& words) {
  if (!has_bare_part(words)) return;
  const Mentions named = mentions_of(words);
  const auto is_polar = [&words](const auto& mention) {
    return is_bare_polar(*thing_called(words, mention.first), mention.second);
  };
  std::map<std::string, Ends> decided;
  if (std::any_of(named.begin(), named.end(), is_polar))
    decided = ends_of_bare_parts(words, named);
  for (const auto& mention : named) {
    const auto& [name, places] = mention;
    if (is_polar(mention)) {
      const auto ends = decided.find(name);
      place_polar(words, name, places, ends != decided.end() ? &ends->second : nullptr);
    } else {
      place_even(words, name, places);
    }
  }
}

}  // namespace benchproof
