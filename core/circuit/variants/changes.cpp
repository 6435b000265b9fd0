#include "core/circuit/variants/changes.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>

#include "core/base/complaints.h"
#include "core/base/pieces.h"
#include "core/catalogue/kind.h"

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

/// A target and what is to stand there.
struct Asking {
  std::string target;  ///< "night.chip.quay"
  Span span;
  TomlNode value;  ///< Of a change asked for: a string, whatever the key takes.
};

/// Puts a value behind a key of a table, in place of what stands there.
void put(TomlNode& table, std::string_view key, const Asking& asking) {
  if (TomlEntry* entry = find_entry(table, key)) {
    entry->key_span = asking.span;
    entry->value = asking.value;
  } else {
    table.entries.push_back({std::string(key), asking.span, asking.value});
  }
}

/// The table behind a key, made where there is none.
TomlNode& table_behind(TomlNode& table, std::string_view key, const Span& span) {
  TomlEntry* entry = find_entry(table, key);
  if (entry != nullptr && entry->value.type == Toml::table) return entry->value;
  TomlNode empty;
  empty.span = span;
  put(table, key, {std::string(key), span, std::move(empty)});
  return find_entry(table, key)->value;
}

/// Turns the text of a change into what the key takes.
void give_type(TomlNode& value, Shape shape) {
  if (!value.span.in_change || value.type != Toml::string) return;
  if (shape == Shape::number) {
    const auto number = parse_quantity(value.text, Unit::none);
    if (const auto* plain = std::get_if<double>(&number)) {
      value.type = Toml::number;
      value.number = *plain;
    }
  } else if (shape == Shape::flag && (value.text == "true" || value.text == "false")) {
    value.type = Toml::boolean;
    value.flag = value.text == "true";
  }
}

bool contains(const std::vector<std::string>& words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

/// Whether a key says which pins a part has.
bool is_wiring(std::string_view key) {
  return key == "kind" || key == "outputs" || key == "inputs" || key == "analogue" ||
         key == "polarised" || key == "adjustable";
}

/// A description while changes are laid over it.
class Overlay {
 public:
  explicit Overlay(const TomlNode& root, bool is_block = false)
      : result_{root, {}, {}}, is_block_(is_block) {
    index("parts", parts_);
    index("states", states_);
  }

  void apply(Asking asking) {
    const auto [name, rest] = split_at_dot(asking.target);
    const Span& stands = asking.value.span;
    for (int line = stands.begin.line; line <= stands.end.line && !stands.in_change;
         ++line)
      result_.lines.insert(line);
    const bool is_part = parts_.contains(name);
    const bool is_state = states_.contains(name);
    const bool is_table = asking.value.type == Toml::table;
    if (is_part && is_state) {
      complain(kChangeAmbiguous, asking.span,
               fmt::format("{} is a part and a state", quoted(name)),
               "give one of them another name");
    } else if (asking.target == "ambient" && !is_part && !is_state && !is_block_) {
      if (take_once(asking)) put(result_.root, "ambient", asking);
    } else if (!is_part && !is_state) {
      const std::string_view what = is_block_ ? "part" : "part or state";
      complain(kPartUnknown, asking.span,
               fmt::format("there is no {} {}{}", what, quoted(name),
                           is_block_ ? " in the block" : ""),
               suggestion(looks_left_, name, names(true),
                          is_block_ ? "parts" : "parts and states"));
    } else if (rest.empty() && is_table) {
      descend(asking);
    } else if (rest.empty()) {
      complain(kChangeTarget, asking.span,
               fmt::format("{} is a {}; what of it is to change?", quoted(name),
                           is_part ? "part" : "state"),
               is_part ? "write PART.KEY" : "write STATE.PART or STATE.PART.KEY");
    } else if (is_part) {
      change_part(std::move(asking), parts_.at(name), rest);
    } else {
      change_state(std::move(asking), name, rest);
    }
  }

  Changed take() && { return std::move(result_); }

 private:
  using Index = std::map<std::string, std::size_t, std::less<>>;

  void index(std::string_view key, Index& into) {
    const TomlEntry* table = find_entry(result_.root, key);
    if (table == nullptr || table->value.type != Toml::table) return;
    for (std::size_t i = 0; i < table->value.entries.size(); ++i)
      into[table->value.entries[i].key] = i;
  }

  void complain(const DiagnosticId& id, const Span& span, std::string message,
                std::string hint = "") {
    result_.diagnostics.push_back(
        {std::string(id.name), span, std::move(message), std::move(hint)});
  }

  std::vector<std::string> names(bool with_states) const {
    std::vector<std::string> list;
    for (const auto& [name, at] : parts_) list.push_back(name);
    if (with_states)
      for (const auto& [name, at] : states_) list.push_back(name);
    return list;
  }

  bool take_once(const Asking& asking) {
    if (seen_.insert(asking.target).second) return true;
    complain(kChangeTwice, asking.span,
             fmt::format("{} is set twice", quoted(asking.target)));
    return false;
  }

  /// Every entry of a table as a target of its own.
  void descend(const Asking& asking) {
    for (const TomlEntry& entry : asking.value.entries)
      apply({fmt::format("{}.{}", asking.target, entry.key), entry.key_span,
             entry.value});
  }

  TomlNode& value_at(std::string_view table, std::size_t index) {
    return find_entry(result_.root, table)->value.entries[index].value;
  }

  /// The kind of a part, or null where the description does not tell.
  const Kind* kind_of(std::size_t part) {
    const TomlNode& node = value_at("parts", part);
    const TomlEntry* entry =
        node.type == Toml::table ? find_entry(node, "kind") : nullptr;
    return entry != nullptr ? find_kind(entry->value.text) : nullptr;
  }

  void refuse_wiring(const Asking& asking) {
    complain(kChangeWiring, asking.span,
             fmt::format("{} cannot be changed", quoted(asking.target)),
             "it says what the part is and how it is joined; that needs a description "
             "of its own");
  }

  void change_part(Asking asking, std::size_t part, const std::string& path) {
    const Kind* kind = kind_of(part);
    if (kind == nullptr) return;  // That is told of the part itself.
    TomlNode& node = value_at("parts", part);
    if (is_wiring(path)) return refuse_wiring(asking);
    if (path == "label") {
      if (take_once(asking)) put(node, path, asking);
      return;
    }
    const auto [name, parameter] = split_at_dot(path);
    const Key* key = find_key(*kind, name);
    const bool is_model = key != nullptr && key->shape == Shape::model;
    if (key == nullptr || (!parameter.empty() && !is_model)) {
      std::vector<std::string> known;
      for (const Key& each : kind->keys)
        if (!is_wiring(each.name)) known.emplace_back(each.name);
      complain(kKeyUnknown, asking.span,
               fmt::format("{}: {} is not a key of kind '{}'", quoted(asking.target),
                           quoted(path), kind->name),
               suggestion(looks_left_, path, known, "keys"));
      return;
    }
    if (!take_once(asking)) return;
    give_type(asking.value, parameter.empty() ? key->shape : Shape::number);
    drop_rivals(node, *kind, *key, split_at_dot(asking.target).first);
    if (parameter.empty()) {
      put(node, name, asking);
    } else {
      put(table_behind(node, name, asking.span), parameter, asking);
    }
  }

  /// Takes out of a part what gave it in place of `key`, and what then means nothing;
  /// but nothing that was asked for.
  void drop_rivals(TomlNode& node, const Kind& kind, const Key& key,
                   const std::string& part) {
    const std::vector<std::string> one_of = split_words(kind.one_of);
    if (!contains(one_of, key.name)) return;
    const auto is_asked = [&](const std::string& name) {
      return seen_.contains(fmt::format("{}.{}", part, name));
    };
    std::erase_if(node.entries, [&](const TomlEntry& entry) {
      return contains(one_of, entry.key) && entry.key != key.name &&
             !is_asked(entry.key);
    });
    std::erase_if(node.entries, [&](const TomlEntry& entry) {
      const Key* other = find_key(kind, entry.key);
      if (other == nullptr || other->only_with.empty() || is_asked(entry.key))
        return false;
      const std::vector<std::string> mates = split_words(other->only_with);
      return !contains(mates, key.name) &&
             std::none_of(mates.begin(), mates.end(), [&](const std::string& mate) {
               return find_entry(node, mate) != nullptr;
             });
    });
  }

  void change_state(Asking asking, const std::string& state, const std::string& path) {
    TomlNode& node = value_at("states", states_.at(state));
    if (node.type != Toml::table) return;  // That is told of the state itself.
    const auto [part_name, rest] = split_at_dot(path);
    const auto part = parts_.find(part_name);
    if (part == parts_.end() && path == "steady") {
      complain(kChangeTarget, asking.span,
               fmt::format("{} cannot be changed", quoted(asking.target)),
               "the same states are judged in every variant");
    } else if (part == parts_.end()) {
      complain(kPartUnknown, asking.span,
               fmt::format("{}: there is no part {}", quoted(asking.target),
                           quoted(part_name)),
               suggestion(looks_left_, part_name, names(false), "parts"));
    } else if (rest.empty() && asking.value.type == Toml::table) {
      descend(asking);
    } else if (take_once(asking)) {
      put_in_state(std::move(asking), node, part->second, path);
    }
  }

  /// What a state says of a part's key stands in the sub-table of the part if it is
  /// there already, else among the state's own entries.
  void put_in_state(Asking asking, TomlNode& state, std::size_t part,
                    const std::string& path) {
    const auto [part_name, rest] = split_at_dot(path);
    const auto [name, inner] = split_at_dot(rest);
    const Kind* kind = kind_of(part);
    const Key* key = kind != nullptr ? find_key(*kind, name) : nullptr;
    if (key != nullptr) give_type(asking.value, key->shape);
    TomlEntry* table = find_entry(state, part_name);
    const bool is_within = !rest.empty() && table != nullptr &&
                           table->value.type == Toml::table &&
                           find_entry(table->value, name) != nullptr;
    TomlNode& home = is_within ? table->value : state;
    const std::string dotted =
        rest.empty() ? part_name : fmt::format("{}.{}", part_name, name);
    const std::string& place = is_within ? name : dotted;
    if (inner.empty()) {
      put(home, place, asking);
    } else {
      put(table_behind(home, place, asking.span), inner, asking);
    }
  }

  Changed result_;
  bool is_block_;  ///< It is no description, and has no states.
  Index parts_;
  Index states_;
  std::set<std::string, std::less<>> seen_;
  int looks_left_ = kMostSuggestions;
};

void tell_changes(std::vector<std::string>& told, const std::string& target,
                  const TomlNode& value) {
  switch (value.type) {
    case Toml::string:
      told.push_back(fmt::format("{}={}", target, value.text));
      return;
    case Toml::number:
      told.push_back(fmt::format("{}={}", target, shortest(value.number)));
      return;
    case Toml::boolean:
      told.push_back(fmt::format("{}={}", target, value.flag));
      return;
    case Toml::table:
      for (const TomlEntry& entry : value.entries)
        tell_changes(told, fmt::format("{}.{}", target, entry.key), entry.value);
      return;
    case Toml::array:
    case Toml::time:
      return;  // Nothing takes them.
  }
}

}  // namespace

std::vector<std::string> changes_of(const TomlEntry& variant) {
  std::vector<std::string> told;
  for (const TomlEntry& entry : variant.value.entries)
    tell_changes(told, entry.key, entry.value);
  return told;
}

Changed with_variant(const TomlNode& root, const TomlEntry& variant) {
  Overlay overlay(root);
  for (const TomlEntry& entry : variant.value.entries)
    overlay.apply({entry.key, entry.key_span, entry.value});
  return std::move(overlay).take();
}

Changed with_block_values(const TomlNode& body, const TomlEntry& use) {
  Overlay overlay(body, true);
  for (const TomlEntry& entry : use.value.entries)
    overlay.apply({entry.key, entry.key_span, entry.value});
  return std::move(overlay).take();
}

Changed with_changes(const TomlNode& root, const std::vector<Change>& changes) {
  Overlay overlay(root);
  for (const Change& change : changes) {
    const auto stretch = [&change](std::size_t from, std::size_t size) {
      Span span{change.at, change.at, true};
      if (change.at.line == 0) return span;
      span.begin.column += static_cast<int>(from);
      span.end.column = span.begin.column + static_cast<int>(size);
      return span;
    };
    TomlNode value;
    value.type = Toml::string;
    value.text = change.value;
    value.span = stretch(change.target.size() + 1, change.value.size());
    overlay.apply({change.target, stretch(0, change.target.size()), std::move(value)});
  }
  return std::move(overlay).take();
}

}  // namespace benchproof
