#include <algorithm>
#include <array>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/pieces.h"
#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/detail/steps.h"

// Names of tables, parts, nets, paths and states.

namespace benchproof {
namespace {

using Names = std::set<std::string, std::less<>>;

/// Each name that was changed, and the one in its place.
using Renamed = std::map<std::string, std::string, std::less<>>;

bool is_plain(std::string_view name) {
  return name.find_first_of(" +") == std::string_view::npos && !name.starts_with('-');
}

/// A name with hyphens in place of blanks, and words in place of signs: "+ rail" is
/// plus-rail. The same name where nothing is to be changed.
std::string plain_name(const std::string& name) {
  if (is_plain(name)) return name;
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

/// Renames the lines of all tables that have names; no two to the same one.
Renamed rename_lines(Wording& words) {
  constexpr std::array kTables = {"parts", "nets", "paths", "states"};
  const auto are_plain = [&words](const char* key) {
    const auto lines = lines_behind(words, key);
    return std::all_of(lines.begin(), lines.end(),
                       [](const TomlEntry& line) { return is_plain(line.key); });
  };
  if (std::all_of(kTables.begin(), kTables.end(), are_plain)) return {};
  Names taken;
  for (const char* key : kTables)
    for (const TomlEntry& line : lines_behind(words, key)) taken.insert(line.key);
  Renamed renamed;
  for (const char* key : kTables)
    for (TomlEntry& line : lines_behind(words, key)) {
      std::string plain = plain_name(line.key);
      if (plain == line.key || plain.empty() || !taken.insert(plain).second) continue;
      renamed[line.key] = plain;
      line.key = std::move(plain);
    }
  return renamed;
}

/// Puts the new name in place of one with which a text begins, up to a point.
void rename_in(std::string& text, const Renamed& renamed) {
  if (renamed.empty()) return;
  const bool is_marked = text.starts_with(kNetMark);
  const std::size_t from = is_marked ? kNetMark.size() : 0;
  // A sign behind a point is a pin.
  const std::size_t dot = std::min(text.find('.', from), text.size());
  const auto found = renamed.find(text.substr(from, dot - from));
  if (found != renamed.end()) text.replace(from, dot - from, found->second);
  // So is one behind a blank.
  const std::size_t blank = text.find_last_of(' ');
  if (found != renamed.end() || blank == std::string::npos || blank < from) return;
  const auto owner = renamed.find(text.substr(from, blank - from));
  if (owner != renamed.end()) text.replace(from, blank - from, owner->second);
}

/// The same behind the keys of an expectation or run that name something.
void rename_within(TomlNode& table, const Renamed& renamed) {
  static const Names kNaming = {"part", "net", "to", "state", "from"};
  for (TomlEntry& entry : table.entries) {
    if (entry.value.type == TomlNode::Type::string && kNaming.contains(entry.key))
      rename_in(entry.value.text, renamed);
    for (TomlNode& item : entry.value.items) rename_within(item, renamed);
  }
}

/// "jack +": a pin whose dot is forgotten is another matter.
bool is_pin_apart(const std::string& text, const Names& parts) {
  const std::size_t end = text.find_first_of(" +-");
  if (end == std::string::npos) return false;
  const std::size_t last = text.find_last_of(" +-");
  const std::size_t blank = text.find_last_of(' ');
  return parts.contains(text.substr(0, end)) || parts.contains(text.substr(0, last)) ||
         parts.contains(text.substr(0, blank));
}

/// Whether a word names a row of a breadboard, or the like: "row 14".
bool is_row(const std::string& word) {
  const std::size_t digits = word.find_first_of("0123456789");
  if (digits == std::string::npos || digits == 0 ||
      word.find_first_not_of("0123456789", digits) != std::string::npos)
    return false;
  static const Names kRows = {"row", "row-", "row_",  "column", "column-",
                              "col", "col-", "strip", "strip-"};
  return kRows.contains(lower_case(word.substr(0, digits)));
}

}  // namespace

void name_tables(Wording& words) {
  const std::vector<std::string>& known = description_keys();
  for (TomlEntry& entry : words.table.entries) {
    if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
    const std::string meant(meant_table(entry.key));
    if (meant.empty() || find_entry(words.table, meant) != nullptr) continue;
    const bool is_list = meant == "expect" || meant == "runs";
    const bool is_text = meant == "title" || meant == "ambient";
    const TomlNode::Type type = is_list   ? TomlNode::Type::array
                                : is_text ? TomlNode::Type::string
                                          : TomlNode::Type::table;
    if (meant == "catalogue" || entry.value.type != type) continue;
    if (meant == "nets") words.loose_nets = entry.key;
    entry.key = meant;
  }
}

void name_plainly(Wording& words) {
  const Renamed renamed = rename_lines(words);
  Names parts;
  if (!lines_behind(words, "paths").empty())
    for (const TomlEntry& part : lines_behind(words, "parts")) parts.insert(part.key);
  each_item(words, [&](const WiredItem& wired) {
    std::string& text = wired.item.text;
    rename_in(text, renamed);
    // A word of a path that stands there alone is a net's name too.
    if (!wired.is_path || text.find('.') != std::string::npos || text.size() <= 1 ||
        is_pin_apart(text, parts))
      return;
    if (std::string plain = plain_name(text); !plain.empty()) text = std::move(plain);
  });
  if (renamed.empty()) return;
  for (TomlEntry& state : lines_behind(words, "states"))
    for (TomlEntry& target : state.value.entries) rename_in(target.key, renamed);
  for (const char* key : {"expect", "runs"})
    if (TomlNode* list = value_behind(words.table, key, TomlNode::Type::array))
      for (TomlNode& item : list->items) rename_within(item, renamed);
}

void mark_rows(Wording& words) {
  for (TomlEntry& path : lines_behind(words, "paths"))
    for (TomlNode& item : path.value.items) {
      if (item.type != TomlNode::Type::string) continue;
      const std::string plain = plain_name(item.text);
      if (is_row(plain) && thing_called(words, plain) == nullptr &&
          thing_called(words, item.text) == nullptr)
        item.text = std::string(kNetMark) + plain;
    }
}

}  // namespace benchproof
