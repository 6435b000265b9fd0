#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "core/base/pieces.h"
#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/steps.h"

// The one source of a description: where its pins stand in paths, and the zero at its
// minus.

namespace benchproof {
namespace {

using Names = std::set<std::string, std::less<>>;

/// The one source, if it has two pins; empty where there is none.
std::string source_of_two(const Wording& words) {
  std::string source = only_source(words);
  if (!source.empty() && !thing_called(words, source)->has_two()) source.clear();
  return source;
}

Names net_names(Wording& words) {
  Names names;
  for (const TomlEntry& net : lines_behind(words, "nets")) names.insert(net.key);
  return names;
}

/// "plus" and "minus" as words of a path are pins of the one source.
void place_poles(Wording& words, const std::string& source) {
  if (thing_called(words, "plus") != nullptr || thing_called(words, "minus") != nullptr)
    return;
  std::map<std::string, int> standing;  ///< As nets; 1: in this place alone.
  for (const TomlEntry& net : lines_behind(words, "nets")) standing[net.key] = 2;
  each_item(words, [&](const WiredItem& wired) {
    if (wired.is_path) ++standing[wired.item.text];
  });
  each_item(words, [&](const WiredItem& wired) {
    std::string& text = wired.item.text;
    if (!wired.is_path || standing[text] > 1) return;
    if (text == "plus" || text == "+")
      text = source + ".plus";
    else if (text == "minus" || text == "-")
      text = source + ".minus";
  });
}

/// Tells how paths begin and end at a source, at the item where it stands by itself.
void tell_source(Wording& words, const std::string& source, const TomlNode& item) {
  complain(words.reading, kPinMalformed, item.span,
           fmt::format("a path begins or ends at a pin of {}", quoted(source)),
           fmt::format("\"{0}.plus\" at its beginning, \"ground\", \"{0}.minus\" at "
                       "its end",
                       source),
           "a source at the end of a path");
}

bool has_ground(Wording& words) {
  const Names nets = net_names(words);
  const std::string marked = std::string(kNetMark) + std::string(kGround);
  bool is_there = nets.contains(kGround);
  each_item(words, [&](const WiredItem& wired) {
    const std::string& text = wired.item.text;
    is_there =
        is_there || (wired.is_path &&
                     (text == marked || (means_ground(text) && !nets.contains(text))));
  });
  return is_there;
}

/// Calls the net of that name ground where paths and expectations name it.
void call_ground(Wording& words, const std::string& name) {
  each_item(words, [&](const WiredItem& wired) {
    std::string& text = wired.item.text;
    if (wired.is_path && (text == name || text == std::string(kNetMark) + name))
      text = kGround;
  });
  each_expected_net(words, [&](std::string& net) {
    if (net == name) net = kGround;
  });
}

/// Calls the net that stands beside an item of a path ground; false where none does.
bool call_beside(Wording& words, const std::vector<TomlNode>& items, std::size_t at) {
  for (const std::size_t beside : {at - 1, at + 1}) {
    if (beside >= items.size()) continue;
    std::string name = items[beside].text;
    if (name.starts_with(kNetMark)) name.erase(0, kNetMark.size());
    if (thing_called(words, name) != nullptr || name.empty() ||
        name.find_first_of("./") != std::string::npos)
      continue;
    call_ground(words, name);
    return true;
  }
  return false;
}

/// Puts the zero where the source's minus stands, in a list or path. False where it
/// stands nowhere.
bool put_zero_at(Wording& words, const std::string& minus) {
  for (TomlEntry& net : lines_behind(words, "nets"))
    for (const TomlNode& item : net.value.items) {
      if (item.text != minus || net.key == kOpen) continue;
      const std::string name = std::exchange(net.key, std::string(kGround));
      call_ground(words, name);
      return true;
    }
  for (TomlEntry& path : lines_behind(words, "paths")) {
    std::vector<TomlNode>& items = path.value.items;
    for (std::size_t i = 0; i < items.size(); ++i) {
      if (items[i].text != minus) continue;
      if (!call_beside(words, items, i))
        items.insert(items.begin() + static_cast<std::ptrdiff_t>(i + 1),
                     text_node(std::string(kGround), items[i].span));
      return true;
    }
  }
  return false;
}

/// Closes paths that end at a part, where nothing leads back to the source.
void close_paths(Wording& words, const std::string& source) {
  const Mentions named = mentions_of(words);
  const auto from = named.find(source);
  if (from == named.end() || from->second.front().pin != "plus") return;
  bool is_first = true;
  for (TomlEntry& path : lines_behind(words, "paths")) {
    if (path.value.items.size() < 2) continue;
    const TomlNode last = path.value.items.back();
    const NamedThing* part = thing_called(words, last.text);
    const auto places = named.find(last.text);
    if (part == nullptr || !part->has_two() || places == named.end() ||
        places->second.size() != 1)
      continue;
    // What is said of the source says how such a path ends.
    if (!words.is_source_told)
      complain(words.reading, kGroundMissing, last.span,
               fmt::format("path {} ends at {}: no way leads back to {}",
                           quoted(path.key), quoted(last.text), quoted(source)),
               fmt::format("write behind it \"ground\", \"{}.minus\"", source),
               "a path without a way back");
    path.value.items.push_back(text_node(std::string(kGround), last.span));
    if (std::exchange(is_first, false))
      path.value.items.push_back(text_node(source + ".minus", last.span));
  }
}

/// Whether the source stands by itself at an end of a path, and in no other way than so
/// and by its minus.
bool stands_at_ends(const std::vector<Mention>& places,
                    std::span<const TomlEntry> paths) {
  bool is_any = false;
  for (const Mention& at : places) {
    const bool is_bare_at_end =
        at.pin.empty() && at.is_path &&
        (at.item == 0 || at.item + 1 == paths[at.list].value.items.size());
    if (!is_bare_at_end && at.pin != "minus") return false;
    is_any = is_any || is_bare_at_end;
  }
  return is_any;
}

}  // namespace

void name_ground(Wording& words) {
  const Names nets = net_names(words);
  const auto is_meant = [&](const std::string& name) {
    const std::string small = lower_case(name);
    return name != kGround && (small == "gnd" || small == "ground" || small == "0v") &&
           thing_called(words, name) == nullptr;
  };
  const auto count = std::count_if(nets.begin(), nets.end(), is_meant);
  if (nets.contains(kGround) ? count > 0 : count > 1) return;
  for (TomlEntry& net : lines_behind(words, "nets"))
    if (is_meant(net.key)) net.key = kGround;
  each_item(words, [&](const WiredItem& wired) {
    if (wired.is_path && is_meant(wired.item.text)) wired.item.text = kGround;
  });
  each_expected_net(words, [&](std::string& net) {
    if (is_meant(net)) net = kGround;
  });
}

void place_sources(Wording& words) {
  const std::string source = source_of_two(words);
  if (source.empty()) return;
  place_poles(words, source);
  const std::vector<Mention> places = mentions_of(words, source);
  const std::span<TomlEntry> paths = lines_behind(words, "paths");
  if (!stands_at_ends(places, paths)) return;
  bool is_minus_there = false;
  for (const Mention& at : places) {
    if (!at.pin.empty()) {
      is_minus_there = true;
      continue;
    }
    TomlNode& item = paths[at.list].value.items[at.item];
    is_minus_there = is_minus_there || at.item != 0;
    tell_source(words, source, item);
    words.is_source_told = true;
    item.text = source + (at.item == 0 ? ".plus" : ".minus");
    expect_no_more(words, item.span);
  }
  if (is_minus_there) return;
  std::vector<TomlNode>& items = paths[places.front().list].value.items;
  if (items.back().text == kGround)
    items.push_back(text_node(source + ".minus", items.back().span));
}

void find_zero(Wording& words) {
  const std::string source = source_of_two(words);
  if (source.empty() || has_ground(words)) return;
  if (!put_zero_at(words, source + ".minus")) close_paths(words, source);
}

}  // namespace benchproof
