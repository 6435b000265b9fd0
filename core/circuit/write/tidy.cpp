#include "core/circuit/write/tidy.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/paths/joints.h"
#include "core/circuit/read/reader.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

constexpr std::size_t kColumns = 100;

/// The byte of each place of a text.
class Bytes {
 public:
  explicit Bytes(std::string_view text) : size_(text.size()) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    begins_.push_back(text.starts_with(kByteOrderMark) ? kByteOrderMark.size() : 0);
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string_view::npos;)
      begins_.push_back(++at);
  }
  [[nodiscard]] std::size_t at(const Position& place) const {
    const auto line = static_cast<std::size_t>(std::max(place.line, 1) - 1);
    if (line >= begins_.size()) return size_;
    const auto column = static_cast<std::size_t>(std::max(place.column, 1) - 1);
    return std::min(begins_[line] + column, size_);
  }

 private:
  std::size_t size_;
  std::vector<std::size_t> begins_;
};

/// A list of [nets] as it is written.
struct List {
  std::string name;
  std::string key;  ///< As written.
  std::vector<std::string> pins;
  std::vector<std::string> above;  ///< Comments in lines of their own, and within it.
  std::string beside;              ///< The comment behind it.
  bool has_gap = false;            ///< An empty line stands before it.
};

/// The table [nets] as it is written.
struct Section {
  std::size_t begin = 0;  ///< Of its header's line.
  std::size_t end = 0;    ///< Behind its last list, without the end of the line.
  std::string header;     ///< The comment behind the header.
  std::vector<List> lists;
};

std::string trimmed(std::string_view text) {
  const std::size_t begin = text.find_first_not_of(" \t\r");
  if (begin == std::string_view::npos) return {};
  return std::string(text.substr(begin, text.find_last_not_of(" \t\r") + 1 - begin));
}

/// The lines of a stretch of text that holds no values: comments, or empty ones.
std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines;
  for (std::size_t from = 0; from <= text.size();) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    const std::string_view line = text.substr(from, to - from);
    const std::size_t mark = line.find('#');
    lines.push_back(mark == std::string_view::npos ? std::string()
                                                   : trimmed(line.substr(mark)));
    from = to + 1;
  }
  return lines;
}

void take_comments(std::string_view text, std::vector<std::string>& into) {
  for (std::string& line : lines_of(text))
    if (!line.empty()) into.push_back(std::move(line));
}

/// Where the line of the header [nets] begins, which stands before `first`; nothing
/// where the nets are written in another way.
std::optional<std::size_t> header_of(std::string_view text, std::size_t first) {
  const std::size_t mark = text.rfind("[nets]", first);
  if (mark == std::string_view::npos) return std::nullopt;
  const std::size_t begin =
      text.rfind('\n', mark) == std::string_view::npos ? 0 : text.rfind('\n', mark) + 1;
  if (!trimmed(text.substr(begin, mark - begin)).empty()) return std::nullopt;
  const std::string_view between = text.substr(mark + 6, first - mark - 6);
  for (std::size_t from = 0; from < between.size();) {
    const std::size_t to = std::min(between.find('\n', from), between.size());
    const std::string line = trimmed(between.substr(from, to - from));
    if (!line.empty() && line.front() != '#') return std::nullopt;
    from = to + 1;
  }
  return begin;
}

/// Reads how [nets] is written; nothing where it is not a table of its own.
std::optional<Section> read_section(std::string_view text, const TomlNode& nets) {
  if (nets.entries.empty()) return std::nullopt;
  const Bytes bytes(text);
  const std::size_t first = bytes.at(nets.entries.front().key_span.begin);
  const auto begin = header_of(text, first);
  if (!begin) return std::nullopt;
  Section section;
  section.lists.reserve(nets.entries.size());
  section.begin = *begin;
  std::size_t from = text.find("[nets]", *begin) + 6;
  std::string* beside = &section.header;
  for (const TomlEntry& entry : nets.entries) {
    const std::size_t key = bytes.at(entry.key_span.begin);
    const std::size_t end = bytes.at(entry.value.span.end);
    if (key < from || end < key) return std::nullopt;
    List list;
    list.name = entry.key;
    list.key = std::string(text.substr(key, bytes.at(entry.key_span.end) - key));
    const std::vector<std::string> lines = lines_of(text.substr(from, key - from));
    *beside = lines.front();
    for (std::size_t k = 1; k + 1 < lines.size(); ++k) {
      if (lines[k].empty()) list.has_gap = true;
      if (!lines[k].empty()) list.above.push_back(lines[k]);
    }
    std::size_t inner = bytes.at(entry.value.span.begin);
    for (const TomlNode& item : entry.value.items) {
      const std::size_t at = bytes.at(item.span.begin);
      if (at < inner) return std::nullopt;
      take_comments(text.substr(inner, at - inner), list.above);
      inner = bytes.at(item.span.end);
      list.pins.push_back(item.text);
    }
    take_comments(text.substr(inner, end - inner), list.above);
    section.lists.push_back(std::move(list));
    beside = &section.lists.back().beside;
    from = end;
  }
  section.end = std::min(text.find('\n', from), text.size());
  *beside = lines_of(text.substr(from, section.end - from)).front();
  if (section.end > from && text[section.end - 1] == '\r') --section.end;
  return section;
}

/// An item of a path that is being made.
struct Step {
  bool is_net = false;
  std::string text;  ///< A net's name, a pin, or a part of two pins.
};

/// A path that is being made.
struct Trail {
  std::vector<Step> steps;
  std::vector<std::string> pins;  ///< All that it takes out of the lists.
  std::string name;
  bool has_source = false;  ///< It begins with the net, the minus and the plus of one.
};

/// A part of two pins between two nets.
struct Passage {
  std::string name;
  std::size_t to = 0;
  bool is_taken = false;
};

/// What is known of the wiring, and the paths along it.
class Wiring {
 public:
  Wiring(const Section& section, const TomlNode& root, const Circuit& circuit)
      : section_(section) {
    for (std::size_t k = 0; k < section.lists.size(); ++k)
      for (const std::string& pin : section.lists[k].pins) list_of_[pin] = k;
    for (const Part& part : circuit.parts) {
      add_thing(part.name, part.pins, is_source(part.kind));
      if (part.kind == KindId::led || is_load(part.kind)) loads_.insert(part.name);
      for (std::size_t pin = 0; pin < part.pins.size(); ++pin)
        if ((part.kind == KindId::controller && static_cast<int>(pin) >= kFirstPin) ||
            (part.kind == KindId::regulator && part.pins[pin] == "out"))
          outputs_.insert(fmt::format("{}.{}", part.name, part.pins[pin]));
    }
    for (const BlockUse& use : circuit.uses) add_thing(use.name, use.pins, false);
    note_standing(root);
  }

  /// The paths that make the whole shorter.
  std::vector<Trail> trails() {
    std::vector<Trail> made;
    for (const bool from_sources : {true, false})
      for (std::size_t k = 0; k < section_.lists.size(); ++k)
        while (std::optional<Trail> trail = follow(k, from_sources))
          made.push_back(std::move(*trail));
    for (std::size_t k = made.size(); k-- > 0;) {
      std::vector<Trail> changed = made;
      if (leave_source(changed[k]) && cost(changed) < cost(made)) made = changed;
      changed = made;
      changed.erase(changed.begin() + static_cast<std::ptrdiff_t>(k));
      if (cost(changed) < cost(made)) made = std::move(changed);
    }
    return made;
  }

  /// How many bytes the wiring takes, without comments.
  [[nodiscard]] std::size_t cost(const std::vector<Trail>& trails) const {
    const std::map<std::string, int, std::less<>> named = names_in(trails);
    std::size_t bytes = trails.empty() ? 0 : std::string_view("[paths]\n\n").size();
    for (const Trail& trail : trails)
      bytes += line(trail.name, items_of(trail, named)).size() + 1;
    bool has_lists = false;
    const std::set<std::string> taken = taken_by(trails);
    for (const List& list : section_.lists) {
      const std::vector<std::string> left = left_of(list, taken);
      if (left.empty() && !list.pins.empty()) continue;
      has_lists = true;
      bytes += line(list.key, quoted_all(left)).size() + 1;
    }
    return bytes + (has_lists ? std::string_view("[nets]\n").size() : 0);
  }

  /// The names of nets in paths, and how often each is there, or has to be taken as
  /// one.
  [[nodiscard]] std::map<std::string, int, std::less<>> names_in(
      const std::vector<Trail>& trails) const {
    std::map<std::string, int, std::less<>> named = standing_;
    const std::set<std::string> taken = taken_by(trails);
    for (const List& list : section_.lists)
      if (!left_of(list, taken).empty()) named[list.name] += 2;
    for (const Trail& trail : trails)
      for (const Step& step : trail.steps)
        if (step.is_net) ++named[step.text];
    return named;
  }

  [[nodiscard]] std::vector<std::string> items_of(
      const Trail& trail, const std::map<std::string, int, std::less<>>& named) const {
    std::vector<std::string> items;
    for (const Step& step : trail.steps) {
      const auto count = named.find(step.text);
      const bool is_plain =
          !step.is_net || (!things_.contains(step.text) && count != named.end() &&
                           (count->second > 1 || step.text == kGround));
      items.push_back(fmt::format("\"{}{}\"", is_plain ? "" : kNetMark, step.text));
    }
    return items;
  }

  static std::set<std::string> taken_by(const std::vector<Trail>& trails) {
    std::set<std::string> taken;
    for (const Trail& trail : trails)
      taken.insert(trail.pins.begin(), trail.pins.end());
    return taken;
  }

  static std::vector<std::string> left_of(const List& list,
                                          const std::set<std::string>& taken) {
    std::vector<std::string> left;
    for (const std::string& pin : list.pins)
      if (!taken.contains(pin)) left.push_back(pin);
    return left;
  }

  static std::vector<std::string> quoted_all(const std::vector<std::string>& words) {
    std::vector<std::string> all;
    for (const std::string& word : words) all.push_back(fmt::format("\"{}\"", word));
    return all;
  }

  /// "name = [items]", broken where it gets too long.
  static std::string line(const std::string& key,
                          const std::vector<std::string>& items) {
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

 private:
  void add_thing(const std::string& name, const std::vector<std::string>& pins,
                 bool gives) {
    things_.insert(name);
    if (pins.size() != 2) return;
    const auto first = list_of_.find(name + "." + pins[0]);
    const auto second = list_of_.find(name + "." + pins[1]);
    if (first == list_of_.end() || second == list_of_.end() ||
        first->second == second->second || is_open(first->second) ||
        is_open(second->second))
      return;
    ends_[name] = {pins[0], pins[1]};
    if (gives) {
      sources_[second->second].push_back({name, first->second, false});
    } else {
      passages_[first->second].push_back({name, second->second, false});
    }
  }

  [[nodiscard]] bool is_open(std::size_t list) const {
    return section_.lists[list].name == kOpen;
  }

  /// Where names stand as nets besides the lists and the paths to come.
  void note_standing(const TomlNode& root) {
    if (const TomlEntry* expect = find_entry(root, "expect"))
      for (const TomlNode& table : expect->value.items)
        for (const std::string_view key : {"net", "to"})
          if (const TomlEntry* entry = find_entry(table, key))
            standing_[entry->value.text] += 2;
    if (const TomlEntry* paths = find_entry(root, "paths"))
      for (const TomlEntry& path : paths->value.entries) {
        names_.insert(path.key);
        for (const TomlNode& item : path.value.items) ++standing_[item.text];
      }
  }

  /// A way on that no path has taken; one that does not end at ground, if there is.
  Passage* free_one(std::map<std::size_t, std::vector<Passage>>& from,
                    std::size_t list) {
    Passage* found = nullptr;
    for (Passage& passage : from[list]) {
      if (passage.is_taken) continue;
      if (section_.lists[passage.to].name != kGround) return &passage;
      if (found == nullptr) found = &passage;
    }
    return found;
  }

  /// A pin on that list, no end of a part that is passed, which no path has yet: one
  /// from which current comes (an output), or any other.
  std::optional<std::string> free_pin(std::size_t list, bool is_output) {
    for (const std::string& pin : section_.lists[list].pins) {
      const std::string owner = pin.substr(0, pin.find('.'));
      if (!ends_.contains(owner) && outputs_.contains(pin) == is_output &&
          placed_.insert(pin).second)
        return pin;
    }
    return std::nullopt;
  }

  void place(Trail& trail, const std::string& pin) {
    trail.steps.push_back({false, pin});
    trail.pins.push_back(pin);
  }

  /// A path that begins on that list, with a source there or without; nothing where all
  /// is taken.
  std::optional<Trail> follow(std::size_t list, bool from_source) {
    Trail trail;
    Passage* source = free_one(from_source ? sources_ : passages_, list);
    if (is_open(list) || source == nullptr) return std::nullopt;
    std::size_t at = list;
    if (from_source) {
      const auto& [plus, minus] = ends_.at(source->name);
      source->is_taken = true;
      trail.steps.push_back({true, section_.lists[list].name});
      place(trail, source->name + "." + minus);
      place(trail, source->name + "." + plus);
      trail.name = source->name;
      trail.has_source = true;
      at = source->to;
    } else if (const auto pin = free_pin(list, true)) {
      place(trail, *pin);
      trail.name = pin->substr(pin->find('.') + 1);
    }
    trail.steps.push_back({true, section_.lists[at].name});
    at = pass(trail, at);
    if (section_.lists[at].name != kGround)
      if (const auto pin = free_pin(at, false)) place(trail, *pin);
    name(trail);
    return trail;
  }

  /// Goes on from part to part; returns the list where it ends.
  std::size_t pass(Trail& trail, std::size_t at) {
    while (Passage* next = free_one(passages_, at)) {
      next->is_taken = true;
      const auto& [first, second] = ends_.at(next->name);
      trail.steps.push_back({false, next->name});
      trail.pins.push_back(next->name + "." + first);
      trail.pins.push_back(next->name + "." + second);
      trail.steps.push_back({true, section_.lists[next->to].name});
      trail.name = next->name;
      at = next->to;
      if (section_.lists[at].name == kGround) break;
    }
    return at;
  }

  /// Lets a path begin behind its source. False where there is none, or nothing else.
  static bool leave_source(Trail& trail) {
    constexpr std::ptrdiff_t kSourceSteps = 3;  // A net, minus and plus.
    if (!trail.has_source || trail.pins.size() <= 2) return false;
    trail.has_source = false;
    trail.steps.erase(trail.steps.begin(), trail.steps.begin() + kSourceSteps);
    trail.pins.erase(trail.pins.begin(), trail.pins.begin() + 2);
    return true;
  }

  /// Calls a path after the lamp or motor that it leads through, if there is one.
  void name(Trail& trail) {
    for (const Step& step : trail.steps) {
      if (step.is_net || !loads_.contains(step.text)) continue;
      trail.name = step.text;
      break;
    }
    const std::string base = trail.name;
    for (int k = 2; !names_.insert(trail.name).second; ++k)
      trail.name = fmt::format("{}-{}", base, k);
  }

  const Section& section_;
  std::map<std::string, std::size_t, std::less<>> list_of_;  ///< By pin.
  std::set<std::string, std::less<>> things_;
  std::set<std::string> outputs_;
  std::set<std::string> loads_;
  std::map<std::string, std::pair<std::string, std::string>, std::less<>> ends_;
  std::map<std::size_t, std::vector<Passage>>
      passages_;                                         ///< By the list they begin on.
  std::map<std::size_t, std::vector<Passage>> sources_;  ///< By that of their minus.
  std::map<std::string, int, std::less<>> standing_;
  std::set<std::string> names_;   ///< Of paths.
  std::set<std::string> placed_;  ///< Pins that begin or end a path.
};

/// A line of the text to be, with its comments.
struct Line {
  std::string key;
  std::vector<std::string> items;
  std::vector<std::string> above;
  std::string beside;
  bool has_gap = false;
};

std::string joined_lines(const std::vector<Line>& lines) {
  constexpr std::size_t kWidest = 16;
  std::size_t width = 0;
  for (const Line& line : lines)
    if (line.key.size() <= kWidest) width = std::max(width, line.key.size());
  std::string text;
  for (const Line& line : lines) {
    if (line.has_gap && !text.empty()) text += "\n";
    for (const std::string& comment : line.above) text += comment + "\n";
    text += Wiring::line(fmt::format("{:<{}}", line.key, width), line.items) +
            (line.beside.empty() ? "" : "  " + line.beside) + "\n";
  }
  return text;
}

/// Puts the comments of a list that goes to the path that takes its place.
void move_comments(const List& list, const std::vector<Trail>& trails,
                   std::vector<Line>& lines) {
  for (std::size_t k = 0; k < trails.size(); ++k) {
    const auto is_it = [&list](const Step& step) {
      return step.is_net && step.text == list.name;
    };
    if (std::none_of(trails[k].steps.begin(), trails[k].steps.end(), is_it)) continue;
    lines[k].above.insert(lines[k].above.end(), list.above.begin(), list.above.end());
    if (!list.beside.empty()) lines[k].above.push_back(list.beside);
    return;
  }
}

/// Where new paths are put: behind the last one that is there, or before the nets.
std::size_t place_for_paths(std::string_view text, const TomlNode& root,
                            const Section& section) {
  const TomlEntry* paths = find_entry(root, "paths");
  if (paths == nullptr || paths->value.entries.empty()) return section.begin;
  const std::size_t end = Bytes(text).at(paths->value.entries.back().value.span.end);
  const std::size_t line_end = std::min(text.find('\n', end), text.size());
  return line_end > end && text[line_end - 1] == '\r' ? line_end - 1 : line_end;
}

/// The text with line ends like those of another text.
std::string with_ends_of(std::string_view model, const std::string& text) {
  if (model.find("\r\n") == std::string_view::npos) return text;
  std::string result;
  for (const char c : text) {
    if (c == '\n') result += '\r';
    result += c;
  }
  return result;
}

std::string rewritten(std::string_view text, const TomlNode& root,
                      const Section& section, const Wiring& wiring,
                      const std::vector<Trail>& trails) {
  const auto named = wiring.names_in(trails);
  const std::set<std::string> taken = Wiring::taken_by(trails);
  std::vector<Line> paths;
  for (const Trail& trail : trails)
    paths.push_back({trail.name, wiring.items_of(trail, named), {}, "", false});
  std::vector<Line> nets;
  for (const List& list : section.lists) {
    const std::vector<std::string> left = Wiring::left_of(list, taken);
    if (left.empty() && !list.pins.empty()) {
      move_comments(list, trails, paths);
    } else {
      nets.push_back(
          {list.key, Wiring::quoted_all(left), list.above, list.beside, list.has_gap});
    }
  }
  const std::string beside = section.header.empty() ? "" : "  " + section.header;
  const bool has_paths = find_entry(root, "paths") != nullptr;
  const std::size_t at = place_for_paths(text, root, section);
  std::string before = joined_lines(paths);
  if (has_paths) {
    before.insert(0, "\n");
    before.pop_back();
  } else {
    before.insert(0, nets.empty() ? "[paths]" + beside + "\n" : "[paths]\n");
    if (nets.empty()) {
      before.pop_back();
    } else {
      before += "\n";
    }
  }
  std::string after;
  if (!nets.empty()) {
    after = "[nets]" + beside + "\n" + joined_lines(nets);
    after.pop_back();
  } else if (has_paths && !section.header.empty()) {
    after = section.header;
  }
  before = with_ends_of(text, before);
  after = with_ends_of(text, after);
  std::string result(text);
  result.replace(section.begin, section.end - section.begin, after);
  const std::size_t moved =
      at > section.begin ? at - (section.end - section.begin) + after.size() : at;
  return result.insert(moved, before);
}

}  // namespace

Tidied tidy(std::string_view text, const Circuit& circuit) {
  const auto as_it_is = [&text](std::string reason) {
    return Tidied{std::string(text), false, std::move(reason)};
  };
  const auto tree = parse_toml(text, Limits{}.nesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  const TomlEntry* nets = root != nullptr ? find_entry(*root, "nets") : nullptr;
  if (nets == nullptr) return as_it_is("it has no nets, only paths");
  const auto section = read_section(text, nets->value);
  if (!section) return as_it_is("its nets do not stand in a table [nets] of their own");
  Wiring wiring(*section, *root, circuit);
  const std::vector<Trail> trails = wiring.trails();
  if (trails.empty() || wiring.cost(trails) >= wiring.cost({}))
    return as_it_is("paths would not be shorter");
  return {rewritten(text, *root, *section, wiring, trails), true, ""};
}

bool same_wiring(const Circuit& one, const Circuit& other) {
  const auto pins_of = [](const Circuit& circuit) {
    std::map<std::string, std::set<std::string>> nets;
    for (const Net& net : circuit.nets)
      for (const PinRef ref : net.pins) {
        const Part& part = circuit.parts[static_cast<std::size_t>(ref.part)];
        nets[net.name].insert(fmt::format(
            "{}.{}", part.name, part.pins[static_cast<std::size_t>(ref.pin)]));
      }
    return nets;
  };
  const bool has_same_parts =
      std::equal(one.parts.begin(), one.parts.end(), other.parts.begin(),
                 other.parts.end(), [](const Part& a, const Part& b) {
                   return a.name == b.name && a.kind == b.kind && a.pins == b.pins;
                 });
  return has_same_parts && pins_of(one) == pins_of(other);
}

}  // namespace benchproof
