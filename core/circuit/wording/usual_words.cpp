#include "core/circuit/wording/usual_words.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/catalogue/other_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/like_pins.h"
#include "core/circuit/paths/joints.h"
#include "core/circuit/topology.h"

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

/// How many parts without pins behind each other have theirs found.
constexpr int kMostRounds = 32;

TomlEntry* entry_in(TomlNode& table, std::string_view key) {
  const auto found =
      std::find_if(table.entries.begin(), table.entries.end(),
                   [key](const TomlEntry& entry) { return entry.key == key; });
  return found == table.entries.end() ? nullptr : &*found;
}

TomlNode* table_in(TomlNode& table, std::string_view key, Toml type = Toml::table) {
  TomlEntry* entry = entry_in(table, key);
  return entry != nullptr && entry->value.type == type ? &entry->value : nullptr;
}

TomlNode text_at(std::string text, const Span& span) {
  TomlNode node;
  node.type = Toml::string;
  node.text = std::move(text);
  node.span = span;
  return node;
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// The pieces of a text between blanks, commas, hyphens and underscores. A hyphen
/// before a digit or by itself is a sign.
std::vector<std::string> pieces_of_words(std::string_view text) {
  std::vector<std::string> words(1);
  for (std::size_t at = 0; at < text.size(); ++at) {
    const bool is_before_digit = at + 1 < text.size() && is_digit(text[at + 1]);
    const bool is_gap = text[at] == ' ' || text[at] == ',' || text[at] == '_' ||
                        (text[at] == '-' && !is_before_digit);
    if (!is_gap)
      words.back() += text[at];
    else if (!words.back().empty())
      words.emplace_back();
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

std::string joined_words(const std::vector<std::string>& words, std::size_t from,
                         std::size_t count) {
  const auto begin = words.begin() + static_cast<std::ptrdiff_t>(from);
  return fmt::format("{}",
                     fmt::join(begin, begin + static_cast<std::ptrdiff_t>(count), " "));
}

/// A name with hyphens in place of blanks, and words in place of signs: "+ rail" is
/// plus-rail. The same name where nothing is to be changed.
std::string plain_name(const std::string& name) {
  if (name.find_first_of(" +") == std::string::npos && !name.starts_with('-'))
    return name;
  std::string result;
  const auto add = [&result](std::string_view word) {
    if (!result.empty() && result.back() != '-') result += '-';
    result += word;
  };
  bool is_gap = true;
  for (const char c : name) {
    if (c == ' ') {
      is_gap = true;
    } else if (c == '+') {
      add("plus");
      is_gap = true;
    } else if (c == '-' && result.empty()) {
      add("minus");
      is_gap = true;
    } else if (is_gap) {
      if (c != '-') add(std::string_view(&c, 1));
      is_gap = c == '-';
    } else {
      result += c;
    }
  }
  return result;
}

/// Other words for kinds that say more than the kind: they are answered, not taken.
bool says_more(std::string_view word) {
  constexpr std::array kMore = {"npn",    "pnp",          "nmos",     "pmos",
                                "relay",  "n-mosfet",     "p-mosfet", "schottky",
                                "piezo",  "electrolytic", "elko",     "source",
                                "preset", "contact",      "engine",   "lead"};
  const std::string small = in_small_letters(word);
  return std::find(kMore.begin(), kMore.end(), small) != kMore.end();
}

/// Whether a word before a kind only says which make of it, and nothing that is
/// reckoned with.
bool is_manner(const std::string& word) {
  static const std::set<std::string, std::less<>> kManner = {
      "toggle", "slide",     "rocker", "push",    "tactile", "momentary", "latching",
      "spst",   "mini",      "small",  "little",  "plug",    "plugin",    "in",
      "wall",   "mains",     "bench",  "usb",     "plugtop", "jumper",    "hookup",
      "hook",   "up",        "dupont", "carbon",  "film",    "metal",     "axial",
      "the",    "my",        "a",      "an",      "on",      "off",       "ceramic",
      "on/off", "household", "lever",  "desktop", "power",   "stranded",  "solid"};
  return kManner.contains(in_small_letters(word));
}

/// A kind among other words, and where it stands there.
struct KindAmongWords {
  const Kind* kind = nullptr;
  std::size_t from = 0;
  std::size_t count = 0;
};

KindAmongWords kind_among(const std::vector<std::string>& words) {
  for (std::size_t count = std::min<std::size_t>(words.size(), 3); count > 0; --count)
    for (std::size_t from = words.size() - count + 1; from-- > 0;)
      if (const Kind* kind = find_kind_called(joined_words(words, from, count)))
        return {kind, from, count};
  return {};
}

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
  if (value.type == Toml::number) {
    value =
        text_at(fmt::format("{} {}", shortest(value.number), unit->unit), value.span);
  } else if (value.type == Toml::string && !value.text.empty() &&
             (is_digit(value.text.back()) || value.text.back() == 'k')) {
    value.text += value.text.back() == 'k' ? std::string(unit->unit)
                                           : fmt::format(" {}", unit->unit);
  }
}

/// What a text for true or false says; nothing for any other.
std::optional<bool> truth_of(const TomlNode& node) {
  if (node.type != Toml::string) return std::nullopt;
  const std::string word = in_small_letters(node.text);
  if (word == "yes" || word == "true") return true;
  if (word == "no" || word == "false") return false;
  return std::nullopt;
}

/// A part, or the use of a block, as its names are told apart.
struct Known {
  const Kind* kind = nullptr;  ///< Null for the use of a block.
  std::vector<std::string> pins;
  std::vector<std::string> own;  ///< A controller's own names.
  [[nodiscard]] bool has_two() const { return kind != nullptr && pins.size() == 2; }
  [[nodiscard]] bool is_even_part() const {
    return has_two() && has_like_pins(kind->id) && pins[0] == "a";
  }
  [[nodiscard]] bool is_source_part() const {
    return kind != nullptr && is_source(kind->id) && has_two();
  }
};

/// Where a part is named in a list or path.
struct Mention {
  bool is_path = false;
  std::size_t list = 0;
  std::size_t item = 0;
  std::string pin;  ///< Empty: the part stands by itself.
};

/// The words of one description, or of one block.
class Words {
 public:
  Words(Reading& reading, TomlNode& scope, bool is_whole)
      : reading_(reading), scope_(scope), is_whole_(is_whole) {}

  void put_right(const std::map<std::string, std::vector<std::string>>& blocks) {
    if (is_whole_) name_tables();
    name_plainly();
    for (TomlEntry& part : entries("parts")) read_part(part, blocks);
    name_pins();
    name_ground();
    if (!loose_nets_.empty() || entry_in(scope_, "nets") != nullptr) move_paths();
    mark_rows();
    place_bare_parts();
    if (is_whole_) {
      place_sources();
      find_zero();
      for (TomlEntry& state : entries("states")) read_state(state);
    }
  }

 private:
  std::vector<TomlEntry>& entries(std::string_view key) {
    TomlNode* table = table_in(scope_, key);
    if (table != nullptr) return table->entries;
    none_.clear();
    return none_;
  }

  /// Nothing more is complained of at that place, in the description or in a block.
  void guess(const Span& span) { add_here(reading_.guessed, span); }

  /// Nor is anything missed of what stands there.
  void miss_nothing(const Span& span) { add_here(reading_.strange, span); }

  static void add_here(std::vector<Span>& spans, Span span) {
    spans.push_back(span);
    span.file = -1;
    spans.push_back(span);
  }

  // Tables and names.

  void name_tables() {
    for (TomlEntry& entry : scope_.entries) {
      const auto& known = description_keys();
      if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
      const std::string meant(meant_table(entry.key));
      if (meant.empty() || entry_in(scope_, meant) != nullptr) continue;
      const bool is_list = meant == "expect" || meant == "runs";
      const bool is_text = meant == "title" || meant == "ambient";
      if (meant == "catalogue" || entry.value.type != (is_list   ? Toml::array
                                                       : is_text ? Toml::string
                                                                 : Toml::table))
        continue;
      if (meant == "nets") loose_nets_ = entry.key;
      entry.key = meant;
    }
  }

  void rename(TomlEntry& entry, std::set<std::string>& taken) {
    std::string plain = plain_name(entry.key);
    if (plain == entry.key || plain.empty() || !taken.insert(plain).second) return;
    renamed_[entry.key] = plain;
    entry.key = std::move(plain);
  }

  /// The name with which a text begins, up to a point, as it is called now.
  void rename_in(std::string& text) const {
    const bool is_marked = text.starts_with(kNetMark);
    const std::size_t from = is_marked ? kNetMark.size() : 0;
    // A sign behind a point is a pin.
    const std::size_t dot = std::min(text.find('.', from), text.size());
    const auto found = renamed_.find(text.substr(from, dot - from));
    if (found != renamed_.end()) text.replace(from, dot - from, found->second);
    // So is one behind a blank.
    const std::size_t blank = text.find_last_of(' ');
    if (found != renamed_.end() || blank == std::string::npos || blank < from) return;
    const auto owner = renamed_.find(text.substr(from, blank - from));
    if (owner != renamed_.end()) text.replace(from, blank - from, owner->second);
  }

  template <typename Do>
  void each_item(Do&& action) {
    for (const char* key : {"nets", "paths"}) {
      std::vector<TomlEntry>& lists = entries(key);
      for (std::size_t k = 0; k < lists.size(); ++k) {
        if (lists[k].value.type != Toml::array) continue;
        std::vector<TomlNode>& items = lists[k].value.items;
        for (std::size_t i = 0; i < items.size(); ++i)
          if (items[i].type == Toml::string)
            action(*key == 'p', k, i, lists[k], items[i]);
      }
    }
  }

  /// The names of nets in expectations.
  template <typename Do>
  void each_expected_net(Do&& action) {
    if (TomlNode* list = table_in(scope_, "expect", Toml::array))
      for (TomlNode& table : list->items)
        for (TomlEntry& entry : table.entries)
          if (entry.key == "net" || entry.key == "to") action(entry.value.text);
  }

  void name_plainly() {
    std::set<std::string> taken;
    for (const char* key : {"parts", "nets", "paths", "states"})
      for (const TomlEntry& entry : entries(key)) taken.insert(entry.key);
    for (const char* key : {"parts", "nets", "paths", "states"})
      for (TomlEntry& entry : entries(key)) rename(entry, taken);
    for (const TomlEntry& part : entries("parts")) part_names_.insert(part.key);
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      rename_in(item.text);
      // A word of a path that stands there alone is a net's name too.
      if (is_path && item.text.find('.') == std::string::npos &&
          !is_pin_apart(item.text))
        if (std::string plain = plain_name(item.text);
            !plain.empty() && item.text.size() > 1)
          item.text = std::move(plain);
    });
    if (renamed_.empty()) return;
    for (TomlEntry& state : entries("states"))
      for (TomlEntry& target : state.value.entries) rename_in(target.key);
    for (const char* key : {"expect", "runs"})
      if (TomlNode* list = table_in(scope_, key, Toml::array))
        for (TomlNode& item : list->items) rename_within(item);
  }

  /// Whether a word names a row of a breadboard, or the like: "row 14".
  static bool is_row(const std::string& word) {
    const std::size_t digits = word.find_first_of("0123456789");
    if (digits == std::string::npos || digits == 0 ||
        word.find_first_not_of("0123456789", digits) != std::string::npos)
      return false;
    const std::string name = in_small_letters(word.substr(0, digits));
    static const std::set<std::string, std::less<>> kRows = {
        "row", "row-", "row_", "column", "column-", "col", "col-", "strip", "strip-"};
    return kRows.contains(name);
  }

  /// Rows that a path passes by are nets, also where nothing else names them.
  void mark_rows() {
    for (TomlEntry& path : entries("paths"))
      for (TomlNode& item : path.value.items) {
        if (item.type != Toml::string) continue;
        const std::string plain = plain_name(item.text);
        if (is_row(plain) && known(plain) == nullptr && known(item.text) == nullptr)
          item.text = std::string(kNetMark) + plain;
      }
  }

  void rename_within(TomlNode& table) {
    for (TomlEntry& entry : table.entries) {
      static const std::set<std::string, std::less<>> kNaming = {"part", "net", "to",
                                                                 "state", "from"};
      if (entry.value.type == Toml::string && kNaming.contains(entry.key))
        rename_in(entry.value.text);
      for (TomlNode& item : entry.value.items) rename_within(item);
    }
  }

  /// "jack +": a pin whose dot is forgotten is another matter.
  [[nodiscard]] bool is_pin_apart(const std::string& text) const {
    const std::size_t end = text.find_first_of(" +-");
    if (end == std::string::npos) return false;
    const std::size_t last = text.find_last_of(" +-");
    const std::size_t blank = text.find_last_of(' ');
    return part_names_.contains(text.substr(0, end)) ||
           part_names_.contains(text.substr(0, last)) ||
           part_names_.contains(text.substr(0, blank));
  }

  // Parts.

  void read_part(TomlEntry& part,
                 const std::map<std::string, std::vector<std::string>>& blocks) {
    if (part.value.type != Toml::table) return;
    Known known;
    if (TomlEntry* block = entry_in(part.value, "block")) {
      const auto found = blocks.find(block->value.text);
      if (found != blocks.end()) known.pins = found->second;
      known_.emplace(part.key, std::move(known));
      return;
    }
    TomlEntry* kind_entry = entry_in(part.value, "kind");
    // A part without a kind is none: its `type` may be the kind by its name.
    if (kind_entry == nullptr) {
      kind_entry = entry_in(part.value, "type");
      if (kind_entry == nullptr || kind_entry->value.type != Toml::string ||
          find_kind_called(kind_entry->value.text) == nullptr ||
          says_more(kind_entry->value.text))
        return;
      kind_entry->key = "kind";
    }
    if (kind_entry->value.type != Toml::string) return;
    known.kind = find_kind(in_small_letters(kind_entry->value.text));
    if (known.kind == nullptr) known.kind = called_kind(part, *kind_entry);
    if (known.kind == nullptr) return;
    // The list of entries may have grown.
    entry_in(part.value, "kind")->value.text = known.kind->name;
    name_keys(part.value, *known.kind);
    known.pins = pins_of(part.value, *known.kind, known.own);
    known_.emplace(part.key, std::move(known));
  }

  static std::vector<std::string> pins_of(const TomlNode& part, const Kind& kind,
                                          std::vector<std::string>& own) {
    const auto is_true = [&part](std::string_view key) {
      const TomlEntry* entry = find_entry(part, key);
      return entry != nullptr && entry->value.type == Toml::boolean &&
             entry->value.flag;
    };
    for (const char* key : {"outputs", "inputs", "analogue"})
      if (const TomlEntry* list = find_entry(part, key))
        for (const TomlNode& item : list->value.items) own.push_back(item.text);
    if (kind.id == KindId::capacitor && is_true("polarised")) return {"plus", "minus"};
    // A regulator's middle pin has two names.
    if (kind.id == KindId::regulator && find_entry(part, "type") != nullptr)
      return {"in", "out"};
    return split_words(kind.pins);
  }

  /// The kind that is meant by another word for it, or by a line of a shop's page,
  /// which is answered with all that it says.
  const Kind* called_kind(TomlEntry& part, TomlEntry& entry) {
    const std::string text = entry.value.text;
    const Kind* whole = find_kind_called(text);
    if (whole != nullptr && !says_more(text)) return whole;
    const std::vector<std::string> words = pieces_of_words(text);
    KindAmongWords found = kind_among(words);
    if (whole != nullptr || found.kind == nullptr) return nullptr;
    bool is_only_manner = found.from + found.count == words.size() &&
                          !says_more(joined_words(words, found.from, found.count));
    for (std::size_t k = 0; k < found.from && is_only_manner; ++k)
      is_only_manner = is_manner(words[k]);
    if (is_only_manner) return found.kind;
    // A kind that is misspelt is told as that.
    if (text.find(' ') == std::string::npos && reading_.suggestions_left-- > 0) {
      std::vector<std::string> names;
      for (const Kind& kind : kinds()) names.emplace_back(kind.name);
      if (!nearest(text, names).empty()) return nullptr;
    }
    answer_kind(part, entry, found, words);
    return found.kind;
  }

  /// Tells how a kind is written that says more, and reads on as if it were.
  void answer_kind(TomlEntry& part, const TomlEntry& entry, const KindAmongWords& found,
                   const std::vector<std::string>& words) {
    const Span span = entry.value.span;
    const std::string text = entry.value.text;
    std::vector<TomlEntry> added;
    for (std::size_t k = 0; k < words.size();) {
      if (k == found.from) {
        k += found.count;
        continue;
      }
      k += take_figure(*found.kind, part.value, words, k, span, added);
    }
    std::string advice = fmt::format("{}: kind = \"{}\"", part.key, found.kind->name);
    for (TomlEntry& more : added) {
      advice += fmt::format(", {} = \"{}\"", more.key, more.value.text);
      part.value.entries.push_back(std::move(more));
    }
    for (const std::string& key : split_words(found.kind->required))
      if (find_entry(part.value, key) == nullptr &&
          meant_nothing(part.value, *found.kind, key))
        advice +=
            fmt::format(", {} = \"...\" ({})", key, find_key(*found.kind, key)->about);
    complain(reading_, kKindUnknown, span,
             fmt::format("there is no kind {}", quoted(text)), advice,
             "a kind that says more than a kind");
    guess(span);
    miss_nothing(part.key_span);
  }

  static bool meant_nothing(const TomlNode& part, const Kind& kind,
                            std::string_view key) {
    return std::none_of(
        part.entries.begin(), part.entries.end(),
        [&](const TomlEntry& entry) { return meant_key(kind, entry.key) == key; });
  }

  /// What a few words from `at` say of a key of the kind; returns how many there are.
  std::size_t take_figure(const Kind& kind, const TomlNode& part,
                          const std::vector<std::string>& words, std::size_t at,
                          const Span& span, std::vector<TomlEntry>& added) {
    const auto take = [&](std::string_view key, std::string text) {
      const bool is_new =
          find_entry(part, key) == nullptr && meant_nothing(part, kind, key) &&
          std::none_of(added.begin(), added.end(),
                       [key](const TomlEntry& entry) { return entry.key == key; });
      if (is_new)
        added.push_back({std::string(key), span, text_at(std::move(text), span)});
    };
    for (std::size_t count = std::min<std::size_t>(3, words.size() - at); count > 0;
         --count) {
      const std::string text = joined_words(words, at, count);
      for (const std::string_view key : {"colour", "size", "chemistry"}) {
        if (find_key(kind, key) == nullptr) continue;
        const std::string same =
            same_word(text, reading_.catalogue.words(kind.id, key));
        if (same.empty()) continue;
        take(key, same);
        return count;
      }
      if (count > 2) continue;
      if (find_key(kind, "type") != nullptr && find_key(kind, "colour") == nullptr)
        if (const Type* type = find_called(reading_.catalogue, kind.id, text)) {
          take("type", type->name);
          return count;
        }
      for (const std::string_view name :
           {"value", "voltage", "output", "current", "power", "rated"}) {
        const Key* key = find_key(kind, name);
        const bool is_of_diode = kind.id == KindId::zener || kind.id == KindId::diode;
        if (key == nullptr || key->shape != Shape::quantity || is_of_diode) continue;
        const auto value = parse_quantity(text, key->unit);
        if (!std::holds_alternative<double>(value)) continue;
        take(name, text);
        return count;
      }
    }
    return 1;
  }

  /// Whether a part has another one of the keys of which it may have one.
  static bool has_other_of(const TomlNode& part, const Kind& kind,
                           const std::string& key) {
    const std::vector<std::string> one_of = split_words(kind.one_of);
    return std::find(one_of.begin(), one_of.end(), key) != one_of.end() &&
           std::any_of(one_of.begin(), one_of.end(), [&part](const std::string& other) {
             return find_entry(part, other) != nullptr;
           });
  }

  void name_keys(TomlNode& part, const Kind& kind) {
    // One of it is what a line says anyway.
    std::erase_if(part.entries, [](const TomlEntry& entry) {
      return is_count(entry.key) &&
             ((entry.value.type == Toml::number && entry.value.number == 1.0) ||
              (entry.value.type == Toml::string && entry.value.text == "1"));
    });
    const std::vector<std::string> known = key_names(kind);
    for (TomlEntry& entry : part.entries) {
      const std::string written = in_small_letters(entry.key);
      if (std::find(known.begin(), known.end(), entry.key) == known.end()) {
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
        entry.value.type = Toml::boolean;
        entry.value.flag = *truth;
      }
    }
  }

  // Pins.

  std::pair<std::string, std::string> halves(const std::string& text) const {
    const std::size_t dot = std::min(text.find('.'), text.size());
    return {text.substr(0, dot),
            dot < text.size() ? text.substr(dot + 1) : std::string()};
  }

  const Known* known(const std::string& name) const {
    const auto found = known_.find(name);
    return found == known_.end() ? nullptr : &found->second;
  }

  /// The names that each part of two like pins is given in lists and paths.
  void name_pins() {
    std::map<std::string, std::vector<std::string>> named;
    each_item([&](bool, std::size_t, std::size_t, TomlEntry&, const TomlNode& item) {
      const auto [owner, pin] = halves(item.text);
      const Known* part = known(owner);
      if (part == nullptr || !part->is_even_part() || pin.empty()) return;
      std::vector<std::string>& names = named[owner];
      if (std::find(names.begin(), names.end(), pin) == names.end())
        names.push_back(pin);
    });
    each_item([&](bool, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      const auto [owner, pin] = halves(item.text);
      const Known* part = known(owner);
      if (part == nullptr || part->kind == nullptr || pin.empty()) return;
      const auto is = [&pin](const std::string& other) { return other == pin; };
      if (std::any_of(part->pins.begin(), part->pins.end(), is) ||
          std::any_of(part->own.begin(), part->own.end(), is))
        return;
      const std::string meant =
          part->is_even_part() ? even_pin(named[owner], pin) : polar_pin(*part, pin);
      if (!meant.empty()) item.text = owner + "." + meant;
    });
  }

  /// Of two names the one for the first pin comes first, unless one is a pin's own.
  static std::string even_pin(const std::vector<std::string>& names,
                              const std::string& pin) {
    if (names.size() > 2) return {};
    Part two;
    two.pins = {"a", "b"};
    for (const std::string& name : names)
      if (name != pin && (name == "a" || name == "b")) {
        // A misspelt pin beside a right one is told.
        const std::string other = name == "a" ? "b" : "a";
        return meant_pin(two, pin) == other ? other : std::string();
      }
    if (names.size() == 1) return std::string(meant_pin(two, pin));
    const std::string_view first = meant_pin(two, names[0]);
    const std::string_view second = meant_pin(two, names[1]);
    if (first.empty() || second.empty() || first == second) return {};
    return std::string(pin == names[0] ? first : second);
  }

  static std::string polar_pin(const Known& part, const std::string& pin) {
    Part like;
    like.kind = part.kind->id;
    like.pins = part.pins;
    return std::string(taken_pin(like, pin));
  }

  // The ground.

  void name_ground() {
    std::set<std::string, std::less<>> nets;
    for (const TomlEntry& net : entries("nets")) nets.insert(net.key);
    const auto is_meant = [&](const std::string& name) {
      const std::string small = in_small_letters(name);
      return name != kGround &&
             (small == "gnd" || small == "ground" || small == "0v") &&
             known_.find(name) == known_.end();
    };
    std::size_t count = 0;
    for (const std::string& net : nets) count += is_meant(net) ? 1 : 0;
    if (nets.contains(kGround) ? count > 0 : count > 1) return;
    for (TomlEntry& net : entries("nets"))
      if (is_meant(net.key)) net.key = kGround;
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      if (is_path && is_meant(item.text)) item.text = kGround;
    });
    each_expected_net([&](std::string& net) {
      if (is_meant(net)) net = kGround;
    });
  }

  // Parts without a pin.

  std::map<std::string, std::vector<Mention>> mentions() {
    std::map<std::string, std::vector<Mention>> found;
    each_item([&](bool is_path, std::size_t list, std::size_t at, TomlEntry& entry,
                  const TomlNode& item) {
      if (entry.key == kOpen && !is_path) return;
      const auto [owner, pin] = halves(item.text);
      if (known(owner) != nullptr) found[owner].push_back({is_path, list, at, pin});
    });
    return found;
  }

  /// Lists among the nets that pass through parts are paths.
  void move_paths() {
    const auto named = mentions();
    std::vector<TomlEntry>& nets = entries("nets");
    std::vector<TomlEntry> paths;
    std::vector<TomlEntry> rest;
    for (TomlEntry& net : nets) {
      bool passes = false;
      const std::vector<TomlNode>& items = net.value.items;
      for (std::size_t i = 0; i < items.size(); ++i) {
        const Known* part = known(items[i].text);
        const bool is_inner = i > 0 && i + 1 < items.size();
        const auto places = named.find(items[i].text);
        passes = passes || (is_inner && part != nullptr && part->has_two() &&
                            places != named.end() && places->second.size() == 1);
      }
      (passes && net.key != kOpen ? paths : rest).push_back(net);
    }
    if (paths.empty()) return;
    for (const TomlEntry& path : paths) {
      if (!loose_nets_.empty()) break;
      complain(
          reading_, kPathWord, path.key_span,
          fmt::format("{} passes through parts, so it is a path and no net",
                      quoted(path.key)),
          rest.empty() ? "write [paths] in place of [nets]" : "put it under [paths]",
          "a path under [nets]");
    }
    const Span span = entry_in(scope_, "nets")->key_span;
    nets = std::move(rest);
    TomlEntry* into = entry_in(scope_, "paths");
    if (nets.empty() && into == nullptr) {
      TomlEntry* all = entry_in(scope_, "nets");
      all->key = "paths";
      all->value.entries = std::move(paths);
      return;
    }
    if (into == nullptr) {
      TomlNode table;
      table.span = span;
      scope_.entries.push_back({"paths", span, std::move(table)});
      into = &scope_.entries.back();
    }
    if (into->value.type == Toml::table)
      std::move(paths.begin(), paths.end(), std::back_inserter(into->value.entries));
  }

  /// Gives parts in nets' lists the pin that they stand there with.
  void place_bare_parts() {
    const auto named = mentions();
    Sides sides = sides_of(named);
    bool is_more = true;
    std::map<std::string, std::pair<std::size_t, std::size_t>>
        polar;  // Anode, cathode.
    for (int round = 0; is_more && round < kMostRounds; ++round) {
      is_more = false;
      spread(sides, named);
      for (const auto& [name, places] : named) {
        if (!is_bare_polar(name, places) || polar.contains(name)) continue;
        const std::size_t one = places[0].list;
        const std::size_t other = places.size() > 1 ? places[1].list : kNone;
        const bool is_first = is_plus(sides, one) || is_minus(sides, other);
        const bool is_second = is_minus(sides, one) || is_plus(sides, other);
        if (is_first == is_second) continue;
        polar[name] = is_first ? std::pair(one, other) : std::pair(other, one);
        // What is behind it lies on the same side, until the other one is met.
        const auto& [anode, cathode] = polar[name];
        const bool has_both = other != kNone;
        if (has_both && sides.plus.contains(anode) && !sides.minus.contains(cathode)) {
          sides.plus.insert(cathode);
        } else if (has_both && sides.minus.contains(cathode) &&
                   !sides.plus.contains(anode)) {
          sides.minus.insert(anode);
        }
        is_more = true;
      }
    }
    std::vector<TomlEntry>& nets = entries("nets");
    for (const auto& [name, places] : named) {
      const Known& part = *known(name);
      if (is_bare_polar(name, places)) {
        tell_polar(name, places, polar);
        continue;
      }
      const bool is_pair = part.is_even_part() && places.size() == 2;
      const bool is_single = part.kind == nullptr && part.pins.size() == 1;
      if (!is_pair && !is_single) continue;
      for (std::size_t k = 0; k < places.size(); ++k) {
        const Mention& at = places[k];
        if (at.is_path || !at.pin.empty()) continue;
        std::string pin = part.pins[0];
        if (is_pair && (k == 1 ? places[0].pin != "b" : places[1].pin == "a"))
          pin = part.pins[1];
        // Both ends of one part are not to be joined by a guess.
        const Mention& mate = places[is_pair ? 1 - k : k];
        if (is_pair && (mate.is_path || mate.list == at.list)) continue;
        nets[at.list].value.items[at.item].text = name + "." + pin;
      }
    }
  }

  static constexpr std::size_t kNone = static_cast<std::size_t>(-1);

  /// Lists that hang on a source's plus or minus.
  struct Sides {
    std::set<std::size_t> plus;
    std::set<std::size_t> minus;
  };

  static bool is_plus(const Sides& sides, std::size_t list) {
    return sides.plus.contains(list) && !sides.minus.contains(list);
  }
  static bool is_minus(const Sides& sides, std::size_t list) {
    return sides.minus.contains(list) && !sides.plus.contains(list);
  }

  using Named = std::map<std::string, std::vector<Mention>>;

  Sides sides_of(const Named& named) {
    Sides sides;
    const std::vector<TomlEntry>& nets = entries("nets");
    for (std::size_t k = 0; k < nets.size(); ++k)
      if (means_ground(nets[k].key)) sides.minus.insert(k);
    for (const auto& [name, places] : named)
      for (const Mention& at : places)
        if (known(name)->is_source_part() && !at.is_path && !at.pin.empty())
          (at.pin == "plus" ? sides.plus : sides.minus).insert(at.list);
    return sides;
  }

  /// Parts of like pins pass a side on.
  void spread(Sides& sides, const Named& named) const {
    std::map<std::size_t, std::vector<std::size_t>> beside;
    for (const auto& [name, places] : named) {
      if (!known(name)->is_even_part() || places.size() != 2) continue;
      if (places[0].is_path || places[1].is_path) continue;
      beside[places[0].list].push_back(places[1].list);
      beside[places[1].list].push_back(places[0].list);
    }
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
  bool is_bare_polar(const std::string& name,
                     const std::vector<Mention>& places) const {
    const Known& part = *known(name);
    if (!part.has_two() || part.is_even_part() || places.size() > 2) return false;
    return std::all_of(places.begin(), places.end(),
                       [](const Mention& at) { return !at.is_path && at.pin.empty(); });
  }

  void tell_polar(
      const std::string& name, const std::vector<Mention>& places,
      const std::map<std::string, std::pair<std::size_t, std::size_t>>& decided) {
    const Known& part = *known(name);
    std::vector<TomlEntry>& nets = entries("nets");
    const auto found = decided.find(name);
    const bool is_known = found != decided.end();
    const auto pin_at = [&](std::size_t k) {
      const bool is_first = is_known ? places[k].list == found->second.first : k == 0;
      return fmt::format("{}.{}", name, part.pins[is_first ? 0 : 1]);
    };
    const Span span = nets[places[0].list].value.items[places[0].item].span;
    std::string hint;
    for (std::size_t k = 0; k < places.size() && is_known; ++k)
      hint += fmt::format(
          "{}in line {} \"{}\"", k == 0 ? "write " : ", ",
          nets[places[k].list].value.items[places[k].item].span.begin.line, pin_at(k));
    if (!is_known)
      hint = fmt::format(
          "write \"{}.{}\" on the side of the source's plus, \"{}.{}\" on "
          "that of its minus",
          name, part.pins[0], name, part.pins[1]);
    complain(reading_, kPinMalformed, span,
             fmt::format("{} is a part; which of its pins is meant?", quoted(name)),
             hint, fmt::format("a {} in place of its pin", part.kind->name));
    for (std::size_t k = 0; k < places.size(); ++k) {
      TomlNode& item = nets[places[k].list].value.items[places[k].item];
      item.text = pin_at(k);
      guess(item.span);
    }
    if (places.size() < 2) guess_pins_of(name);
  }

  /// Of a part that was told of no pin is missed.
  void guess_pins_of(const std::string& name) {
    if (TomlNode* parts = table_in(scope_, "parts"))
      if (const TomlEntry* part = find_entry(*parts, name)) guess(part->key_span);
  }

  // Sources, and the zero.

  /// The one source of the description; empty where there are none or more.
  std::string only_source() const {
    std::string found;
    for (const auto& [name, part] : known_) {
      if (part.kind == nullptr || !is_source(part.kind->id)) continue;
      if (!found.empty()) return {};
      found = name;
    }
    return found;
  }

  /// A source that stands at a path's end by itself, and a word for one of its pins.
  void place_sources() {
    const std::string source = only_source();
    if (source.empty() || !known(source)->has_two()) return;
    place_poles(source);
    const auto named = mentions();
    const auto found = named.find(source);
    if (found == named.end()) return;
    std::vector<TomlEntry>& paths = entries("paths");
    const auto is_bare_at_end = [&](const Mention& at) {
      return at.pin.empty() && at.is_path &&
             (at.item == 0 || at.item + 1 == paths[at.list].value.items.size());
    };
    const bool is_any =
        std::any_of(found->second.begin(), found->second.end(), is_bare_at_end);
    const bool is_else = std::any_of(
        found->second.begin(), found->second.end(),
        [&](const Mention& at) { return !is_bare_at_end(at) && at.pin != "minus"; });
    if (!is_any || is_else) return;
    bool is_minus_there = false;
    for (const Mention& at : found->second) {
      TomlNode& item = at.is_path ? paths[at.list].value.items[at.item]
                                  : entries("nets")[at.list].value.items[at.item];
      if (!at.pin.empty()) {
        is_minus_there = true;
        continue;
      }
      const std::string pin = at.item == 0 ? "plus" : "minus";
      is_minus_there = is_minus_there || at.item != 0;
      tell_source(source, item);
      is_source_told_ = true;
      item.text = source + "." + pin;
      guess(item.span);
    }
    if (is_minus_there) return;
    TomlNode& last = paths[found->second.front().list].value;
    if (last.items.back().text == kGround)
      last.items.push_back(text_at(source + ".minus", last.items.back().span));
  }

  void tell_source(const std::string& source, const TomlNode& item) {
    complain(reading_, kPinMalformed, item.span,
             fmt::format("a path begins or ends at a pin of {}", quoted(source)),
             fmt::format("\"{0}.plus\" at its beginning, \"ground\", \"{0}.minus\" at "
                         "its end",
                         source),
             "a source at the end of a path");
  }

  /// "plus" and "minus" as words of a path are pins of the one source.
  void place_poles(const std::string& source) {
    if (known("plus") != nullptr || known("minus") != nullptr) return;
    std::map<std::string, int> nets;
    for (const TomlEntry& net : entries("nets")) nets[net.key] = 2;
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      if (is_path) ++nets[item.text];
    });
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      const std::string& text = item.text;
      if (!is_path || nets[text] > 1) return;
      if (text == "plus" || text == "+")
        item.text = source + ".plus";
      else if (text == "minus" || text == "-")
        item.text = source + ".minus";
    });
  }

  [[nodiscard]] bool has_ground() {
    std::set<std::string, std::less<>> nets;
    for (const TomlEntry& net : entries("nets")) nets.insert(net.key);
    bool is_there = nets.contains(kGround);
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      const bool is_ground =
          item.text == std::string(kNetMark) + std::string(kGround) ||
          (means_ground(item.text) && !nets.contains(item.text));
      is_there = is_there || (is_path && is_ground);
    });
    return is_there;
  }

  /// Where one source alone gives, the zero is at its minus.
  void find_zero() {
    const std::string source = only_source();
    if (source.empty() || !known(source)->has_two() || has_ground()) return;
    const std::string minus = source + ".minus";
    for (TomlEntry& net : entries("nets"))
      for (const TomlNode& item : net.value.items)
        if (item.text == minus && net.key != kOpen) {
          other_zero(net);
          return;
        }
    for (TomlEntry& path : entries("paths"))
      for (std::size_t i = 0; i < path.value.items.size(); ++i)
        if (path.value.items[i].text == minus) {
          if (!call_beside(path.value.items, i)) {
            const auto behind =
                path.value.items.begin() + static_cast<std::ptrdiff_t>(i + 1);
            path.value.items.insert(
                behind, text_at(std::string(kGround), path.value.items[i].span));
          }
          return;
        }
    close_paths(source);
  }

  /// Calls the net that stands beside an item of a path ground; false where none does.
  bool call_beside(const std::vector<TomlNode>& items, std::size_t at) {
    for (const std::size_t beside : {at - 1, at + 1}) {
      if (beside >= items.size()) continue;
      std::string name = items[beside].text;
      if (name.starts_with(kNetMark)) name.erase(0, kNetMark.size());
      if (known(name) != nullptr || name.empty() ||
          name.find_first_of("./") != std::string::npos)
        continue;
      call_ground(name);
      return true;
    }
    return false;
  }

  void other_zero(TomlEntry& net) {
    const std::string name = net.key;
    net.key = kGround;
    call_ground(name);
  }

  /// Calls the net of that name ground wherever it is named.
  void call_ground(const std::string& name) {
    each_item([&](bool is_path, std::size_t, std::size_t, TomlEntry&, TomlNode& item) {
      if (is_path && (item.text == name || item.text == std::string(kNetMark) + name))
        item.text = kGround;
    });
    each_expected_net([&](std::string& net) {
      if (net == name) net = kGround;
    });
  }

  /// Paths that end at a part, where nothing leads back to the source.
  void close_paths(const std::string& source) {
    const auto named = mentions();
    const auto from = named.find(source);
    if (from == named.end() || from->second.front().pin != "plus") return;
    bool is_first = true;
    for (TomlEntry& path : entries("paths")) {
      if (path.value.items.size() < 2) continue;
      const TomlNode last = path.value.items.back();
      const Known* part = known(last.text);
      const auto places = named.find(last.text);
      if (part == nullptr || !part->has_two() || places == named.end() ||
          places->second.size() != 1)
        continue;
      // What is said of the source says how such a path ends.
      if (!is_source_told_)
        complain(reading_, kGroundMissing, last.span,
                 fmt::format("path {} ends at {}: no way leads back to {}",
                             quoted(path.key), quoted(last.text), quoted(source)),
                 fmt::format("write behind it \"ground\", \"{}.minus\"", source),
                 "a path without a way back");
      path.value.items.push_back(text_at(std::string(kGround), last.span));
      if (std::exchange(is_first, false))
        path.value.items.push_back(text_at(source + ".minus", last.span));
    }
  }

  // States.

  /// An output that is "on" is high.
  static void read_level(TomlNode& value) {
    const std::string word = in_small_letters(value.text);
    if (value.type == Toml::string && (word == "on" || word == "off"))
      value.text = word == "on" ? "high" : "low";
  }

  void read_state(TomlEntry& state) {
    for (TomlEntry& target : state.value.entries) {
      const auto [owner, pin] = halves(target.key);
      const Known* chip = known(owner);
      if (chip != nullptr && chip->kind != nullptr &&
          chip->kind->id == KindId::controller) {
        if (!pin.empty()) read_level(target.value);
        if (pin.empty() && target.value.type == Toml::table)
          for (TomlEntry& output : target.value.entries) read_level(output.value);
        continue;
      }
      const Known* part = known(target.key);
      if (part == nullptr || part->kind == nullptr || part->kind->id != KindId::switch_)
        continue;
      TomlNode& value = target.value;
      const std::string word = in_small_letters(value.text);
      std::optional<bool> closed;
      if (value.type == Toml::boolean) closed = value.flag;
      if (value.type == Toml::string &&
          is_of(word, "on closed true yes pressed pushed"))
        closed = true;
      if (value.type == Toml::string && is_of(word, "off open false no released"))
        closed = false;
      if (!closed) continue;
      value.type = Toml::string;
      value.text = *closed ? "closed" : "open";
    }
  }

  static bool is_of(const std::string& word, std::string_view words) {
    const std::vector<std::string> all = split_words(words);
    return std::find(all.begin(), all.end(), word) != all.end();
  }

  Reading& reading_;
  TomlNode& scope_;
  bool is_whole_;
  std::string loose_nets_;  ///< What the table of nets was called, where not [nets].
  bool is_source_told_ = false;
  std::set<std::string> part_names_;
  std::map<std::string, std::string, std::less<>> renamed_;
  std::map<std::string, Known> known_;
  std::vector<TomlEntry> none_;  ///< The entries of a table that is not there.
};

}  // namespace

std::vector<std::string> likely_pins(const TomlNode& block) {
  std::vector<std::string> pins;
  const TomlEntry* parts = find_entry(block, "parts");
  const TomlEntry* paths = find_entry(block, "paths");
  if (parts == nullptr || paths == nullptr) return pins;
  std::map<std::string, int> counts;
  std::vector<std::string> words;
  for (const TomlEntry& path : paths->value.entries)
    for (const TomlNode& item : path.value.items) {
      const bool is_word = item.type == Toml::string && item.text != kGround &&
                           item.text.find('.') == std::string::npos &&
                           find_entry(parts->value, item.text) == nullptr;
      if (is_word && counts[item.text]++ == 0) words.push_back(item.text);
    }
  for (const std::string& word : words)
    if (counts[word] == 1) pins.push_back(word);
  return pins.empty() ? words : pins;
}

void put_usual_words_right(Reading& reading, TomlNode& root) {
  std::map<std::string, std::vector<std::string>> blocks;
  if (TomlNode* table = table_in(root, "blocks"))
    for (TomlEntry& block : table->entries) {
      if (block.value.type != Toml::table) continue;
      Words(reading, block.value, false).put_right({});
      std::vector<std::string>& pins = blocks[block.key];
      pins = likely_pins(block.value);
      if (const TomlEntry* list = find_entry(block.value, "pins")) {
        pins.clear();
        for (const TomlNode& pin : list->value.items) pins.push_back(pin.text);
      }
    }
  const bool is_block_file = find_entry(root, "pins") != nullptr;
  Words(reading, root, !is_block_file).put_right(blocks);
  if (TomlNode* test = table_in(root, "test"))
    Words(reading, *test, true).put_right(blocks);
}

}  // namespace benchproof
