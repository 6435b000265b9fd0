#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"

// What the steps that put usual words right have in common.

namespace benchproof {

/// A part, or the use of a block, as its names are told apart.
struct NamedThing {
  const Kind* kind = nullptr;  ///< Null for the use of a block.
  std::vector<std::string> pins;
  std::vector<std::string> own;  ///< A controller's own names.

  [[nodiscard]] bool has_two() const { return kind != nullptr && pins.size() == 2; }
  /// Two pins that are alike, of which the first is "a".
  [[nodiscard]] bool is_even() const;
  /// A source of two pins.
  [[nodiscard]] bool is_source_of_two() const;
};

/// One description, or one block, and what is known of its words.
struct Wording {
  Reading& reading;
  TomlNode& table;
  std::map<std::string, NamedThing> things = {};  ///< Whose kind is known.
  std::string loose_nets =
      {};  ///< What the table of nets was called, where not [nets].
  bool is_source_told = false;  ///< It was told how a path ends at the source.
};

/// The entries of the table behind a key; none where no table does.
[[nodiscard]] std::span<TomlEntry> lines_behind(Wording& words, std::string_view key);

/// The value behind a key that is of the type; null where none is.
[[nodiscard]] TomlNode* value_behind(TomlNode& table, std::string_view key,
                                     TomlNode::Type type);

/// The part or block of that name; null where its kind is not known.
[[nodiscard]] const NamedThing* thing_called(const Wording& words,
                                             const std::string& name);

/// The one source of the description; empty where there are none or more.
[[nodiscard]] std::string only_source(const Wording& words);

/// Nothing more is complained of at that place, in the description or in a block.
void expect_no_more(Wording& words, const Span& span);

/// Nor is anything missed of what stands there.
void miss_nothing(Wording& words, const Span& span);

/// An item of a list or path.
struct WiredItem {
  bool is_path = false;
  std::size_t list = 0;  ///< Which of the lists, or paths.
  std::size_t at = 0;    ///< Which of its items.
  TomlEntry& line;       ///< The list or path.
  TomlNode& item;        ///< A text.
};

/// Does something with each text of the lists, then of the paths.
template <typename Do>
void each_item(Wording& words, Do&& action) {
  for (const bool is_path : {false, true}) {
    const std::span<TomlEntry> lines = lines_behind(words, is_path ? "paths" : "nets");
    for (std::size_t k = 0; k < lines.size(); ++k) {
      if (lines[k].value.type != TomlNode::Type::array) continue;
      std::vector<TomlNode>& items = lines[k].value.items;
      for (std::size_t i = 0; i < items.size(); ++i)
        if (items[i].type == TomlNode::Type::string)
          action(WiredItem{is_path, k, i, lines[k], items[i]});
    }
  }
}

/// Does something with each name of a net in an expectation.
template <typename Do>
void each_expected_net(Wording& words, Do&& action) {
  if (TomlNode* list = value_behind(words.table, "expect", TomlNode::Type::array))
    for (TomlNode& table : list->items)
      for (TomlEntry& entry : table.entries)
        if (entry.key == "net" || entry.key == "to") action(entry.value.text);
}

/// Where a part is named in a list or path.
struct Mention {
  bool is_path = false;
  std::size_t list = 0;
  std::size_t item = 0;
  std::string pin;  ///< Empty: the part stands by itself.
};
using Mentions = std::map<std::string, std::vector<Mention>>;

/// Where each part and block is named, but in the list of open pins.
[[nodiscard]] Mentions mentions_of(Wording& words);
/// The same of one of them.
[[nodiscard]] std::vector<Mention> mentions_of(Wording& words, std::string_view name);

}  // namespace benchproof
