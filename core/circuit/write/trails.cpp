#include "core/circuit/write/detail/trails.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

constexpr std::size_t kColumns = 100;

bool is_open(const ListedWiring& wiring, std::size_t list) {
  return wiring.section.lists[list].name == kOpen;
}

/// Adds a part or block; `gives`: it is a source.
void add_thing(ListedWiring& wiring, const std::string& name,
               const std::vector<std::string>& pins, bool gives) {
  wiring.things.insert(name);
  if (pins.size() != 2) return;
  const auto first = wiring.list_of.find(name + "." + pins[0]);
  const auto second = wiring.list_of.find(name + "." + pins[1]);
  if (first == wiring.list_of.end() || second == wiring.list_of.end() ||
      first->second == second->second || is_open(wiring, first->second) ||
      is_open(wiring, second->second))
    return;
  wiring.ends[name] = {pins[0], pins[1]};
  if (gives) {
    wiring.sources[second->second].push_back({name, first->second});
  } else {
    wiring.passages[first->second].push_back({name, second->second});
  }
}

/// Notes where names stand as nets besides the lists and the paths to come.
void note_standing(ListedWiring& wiring, const TomlNode& root) {
  if (const TomlEntry* expect = find_entry(root, "expect"))
    for (const TomlNode& table : expect->value.items)
      for (const std::string_view key : {"net", "to"})
        if (const TomlEntry* entry = find_entry(table, key))
          wiring.standing[entry->value.text] += 2;
  if (const TomlEntry* paths = find_entry(root, "paths"))
    for (const TomlEntry& path : paths->value.entries) {
      wiring.path_names.insert(path.key);
      for (const TomlNode& item : path.value.items) ++wiring.standing[item.text];
    }
}

/// Follows parts from list to list until all are taken.
class TrailSearch {
 public:
  explicit TrailSearch(const ListedWiring& wiring)
      : wiring_(wiring), lists_(wiring.section.lists), names_(wiring.path_names) {}

  std::vector<Trail> all() {
    std::vector<Trail> made;
    for (const bool from_sources : {true, false})
      for (std::size_t k = 0; k < lists_.size(); ++k)
        while (std::optional<Trail> trail = follow(k, from_sources))
          made.push_back(std::move(*trail));
    return made;
  }

 private:
  using Passages = std::map<std::size_t, std::vector<TrailPassage>>;

  /// A way on that no path has taken; one that does not end at ground, if there is.
  const TrailPassage* free_one(const Passages& passages, std::size_t list) const {
    const auto from = passages.find(list);
    if (from == passages.end()) return nullptr;
    const TrailPassage* found = nullptr;
    for (const TrailPassage& passage : from->second) {
      if (taken_.contains(passage.name)) continue;
      if (lists_[passage.to].name != kGround) return &passage;
      if (found == nullptr) found = &passage;
    }
    return found;
  }

  /// A pin on that list, no end of a part that is passed, which no path has yet: one
  /// from which current comes (an output), or any other.
  std::optional<std::string> free_pin(std::size_t list, bool is_output) {
    for (const std::string& pin : lists_[list].pins) {
      const std::string owner = pin.substr(0, pin.find('.'));
      if (!wiring_.ends.contains(owner) && wiring_.outputs.contains(pin) == is_output &&
          placed_.insert(pin).second)
        return pin;
    }
    return std::nullopt;
  }

  static void place(Trail& trail, const std::string& pin) {
    trail.steps.push_back({false, pin});
    trail.pins.push_back(pin);
  }

  /// A path that begins on that list, with a source there or without; nothing where all
  /// is taken.
  std::optional<Trail> follow(std::size_t list, bool from_source) {
    const TrailPassage* begun =
        free_one(from_source ? wiring_.sources : wiring_.passages, list);
    if (is_open(wiring_, list) || begun == nullptr) return std::nullopt;
    Trail trail;
    std::size_t at = list;
    if (from_source) {
      const auto& [plus, minus] = wiring_.ends.at(begun->name);
      taken_.insert(begun->name);
      trail.steps.push_back({true, lists_[list].name});
      place(trail, begun->name + "." + minus);
      place(trail, begun->name + "." + plus);
      trail.name = begun->name;
      trail.has_source = true;
      at = begun->to;
    } else if (const auto pin = free_pin(list, true)) {
      place(trail, *pin);
      trail.name = pin->substr(pin->find('.') + 1);
    }
    trail.steps.push_back({true, lists_[at].name});
    at = pass(trail, at);
    if (lists_[at].name != kGround)
      if (const auto pin = free_pin(at, false)) place(trail, *pin);
    name(trail);
    return trail;
  }

  /// Goes on from part to part; returns the list where it ends.
  std::size_t pass(Trail& trail, std::size_t at) {
    while (const TrailPassage* next = free_one(wiring_.passages, at)) {
      taken_.insert(next->name);
      const auto& [first, second] = wiring_.ends.at(next->name);
      trail.steps.push_back({false, next->name});
      trail.pins.push_back(next->name + "." + first);
      trail.pins.push_back(next->name + "." + second);
      trail.steps.push_back({true, lists_[next->to].name});
      trail.name = next->name;
      at = next->to;
      if (lists_[at].name == kGround) break;
    }
    return at;
  }

  /// Calls a path after the lamp or motor that it leads through, if there is one.
  void name(Trail& trail) {
    for (const TrailStep& step : trail.steps) {
      if (step.is_net || !wiring_.loads.contains(step.text)) continue;
      trail.name = step.text;
      break;
    }
    const std::string base = trail.name;
    for (int k = 2; !names_.insert(trail.name).second; ++k)
      trail.name = fmt::format("{}-{}", base, k);
  }

  const ListedWiring& wiring_;
  const std::vector<WrittenList>& lists_;
  std::set<std::string> taken_;   ///< Parts that a path passes.
  std::set<std::string> placed_;  ///< Pins that begin or end a path.
  std::set<std::string> names_;   ///< Of paths.
};

/// Lets a path begin behind its source. False where there is none, or nothing else.
bool leave_source(Trail& trail) {
  constexpr std::ptrdiff_t kSourceSteps = 3;  // A net, minus and plus.
  if (!trail.has_source || trail.pins.size() <= 2) return false;
  trail.has_source = false;
  trail.steps.erase(trail.steps.begin(), trail.steps.begin() + kSourceSteps);
  trail.pins.erase(trail.pins.begin(), trail.pins.begin() + 2);
  return true;
}

}  // namespace

std::set<std::string> taken_by(const std::vector<Trail>& trails) {
  std::set<std::string> taken;
  for (const Trail& trail : trails) taken.insert(trail.pins.begin(), trail.pins.end());
  return taken;
}

std::vector<std::string> left_of(const WrittenList& list,
                                 const std::set<std::string>& taken) {
  std::vector<std::string> left;
  for (const std::string& pin : list.pins)
    if (!taken.contains(pin)) left.push_back(pin);
  return left;
}

std::vector<std::string> quoted_all(const std::vector<std::string>& words) {
  std::vector<std::string> all;
  for (const std::string& word : words) all.push_back(fmt::format("\"{}\"", word));
  return all;
}

std::string list_line(const std::string& key, const std::vector<std::string>& items) {
  std::string text = fmt::format("{} = [{}]", key, fmt::join(items, ", "));
  if (text.size() <= kColumns) return text;
  text = key + " = [";
  std::size_t column = kColumns;
  for (const std::string& item : items) {
    if (column + item.size() + 2 > kColumns) {
      text += "\n ";
      column = 1;
    }
    text += " " + item + ",";
    column += item.size() + 2;
  }
  return text + "\n]";
}

ListedWiring listed_wiring(const NetsSection& section, const TomlNode& root,
                           const Circuit& circuit) {
  ListedWiring wiring{section};
  for (std::size_t k = 0; k < section.lists.size(); ++k)
    for (const std::string& pin : section.lists[k].pins) wiring.list_of[pin] = k;
  for (const Part& part : circuit.parts) {
    add_thing(wiring, part.name, part.pins, is_source(part.kind));
    if (part.kind == KindId::led || is_load(part.kind)) wiring.loads.insert(part.name);
    for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
      if ((part.kind == KindId::controller && static_cast<int>(pin) >= kFirstPin) ||
          (part.kind == KindId::regulator && part.pins[pin] == "out"))
        wiring.outputs.insert(fmt::format("{}.{}", part.name, part.pins[pin]));
  }
  for (const BlockUse& use : circuit.uses) add_thing(wiring, use.name, use.pins, false);
  note_standing(wiring, root);
  return wiring;
}

std::vector<Trail> shortening_trails(const ListedWiring& wiring) {
  std::vector<Trail> made = TrailSearch(wiring).all();
  const auto is_shorter = [&](const std::vector<Trail>& changed) {
    return bytes_with(wiring, changed) < bytes_with(wiring, made);
  };
  for (std::size_t k = made.size(); k-- > 0;) {
    std::vector<Trail> changed = made;
    if (leave_source(changed[k]) && is_shorter(changed)) made = changed;
    changed = made;
    changed.erase(changed.begin() + static_cast<std::ptrdiff_t>(k));
    if (is_shorter(changed)) made = std::move(changed);
  }
  return made;
}

std::size_t bytes_with(const ListedWiring& wiring, const std::vector<Trail>& trails) {
  const Standing named = names_with(wiring, trails);
  std::size_t bytes = trails.empty() ? 0 : std::string_view("[paths]\n\n").size();
  for (const Trail& trail : trails)
    bytes += list_line(trail.name, items_of(wiring, trail, named)).size() + 1;
  bool has_lists = false;
  const std::set<std::string> taken = taken_by(trails);
  for (const WrittenList& list : wiring.section.lists) {
    const std::vector<std::string> left = left_of(list, taken);
    if (left.empty() && !list.pins.empty()) continue;
    has_lists = true;
    bytes += list_line(list.key, quoted_all(left)).size() + 1;
  }
  return bytes + (has_lists ? std::string_view("[nets]\n").size() : 0);
}

Standing names_with(const ListedWiring& wiring, const std::vector<Trail>& trails) {
  Standing named = wiring.standing;
  const std::set<std::string> taken = taken_by(trails);
  for (const WrittenList& list : wiring.section.lists)
    if (!left_of(list, taken).empty()) named[list.name] += 2;
  for (const Trail& trail : trails)
    for (const TrailStep& step : trail.steps)
      if (step.is_net) ++named[step.text];
  return named;
}

std::vector<std::string> items_of(const ListedWiring& wiring, const Trail& trail,
                                  const Standing& named) {
  std::vector<std::string> items;
  for (const TrailStep& step : trail.steps) {
    const auto count = named.find(step.text);
    const bool is_plain =
        !step.is_net || (!wiring.things.contains(step.text) && count != named.end() &&
                         (count->second > 1 || step.text == kGround));
    items.push_back(fmt::format("\"{}{}\"", is_plain ? "" : kNetMark, step.text));
  }
  return items;
}

}  // namespace benchproof
