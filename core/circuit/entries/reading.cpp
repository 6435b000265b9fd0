#include "core/circuit/entries/reading.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace benchproof {
namespace {

/// The keys that parts of every kind may have.
constexpr std::array<std::string_view, 4> kKeysOfAll = {"kind", "label", "shape",
                                                        "legs"};

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

bool is_name(std::string_view text, std::size_t most) {
  return !text.empty() && text.size() <= most && is_letter(text.front()) &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter(c) || (c >= '0' && c <= '9') || c == '_' || c == '-';
         });
}

}  // namespace

bool is_guess(const Reading& reading, const Span& span) {
  return std::any_of(reading.guessed.begin(), reading.guessed.end(),
                     [&](const Span& g) {
                       return g.in_change == span.in_change && g.file == span.file &&
                              g.begin <= span.begin && span.end <= g.end;
                     });
}

void complain(Reading& reading, const DiagnosticId& id, const Span& span,
              std::string message, std::string hint, std::string cause) {
  const bool is_meant = id.name == kKeyMissing.name &&
                        std::find(reading.strange.begin(), reading.strange.end(),
                                  span) != reading.strange.end();
  if (is_guess(reading, span) || is_meant) return;
  reading.diagnostics.push_back({std::string(id.name), span, std::move(message),
                                 std::move(hint), std::move(cause)});
}

std::string suggestion(Reading& reading, std::string_view name,
                       const std::vector<std::string>& candidates,
                       std::string_view what, std::size_t most) {
  return suggestion(reading.suggestions_left, name, candidates, what, most);
}

bool check_name(Reading& reading, std::string_view name, const Span& span,
                std::string_view what) {
  if (reading.made_names.contains(name)) return true;
  if (!is_name(name, reading.limits.name_length)) {
    complain(
        reading, kNameInvalid, span,
        fmt::format("{} cannot be the name of {}", quoted(name), what),
        fmt::format("a name is a letter, then letters, digits, '_' or '-', at most {}",
                    reading.limits.name_length));
    return false;
  }
  for (const std::string_view reserved : {"open", "unpowered", "initial"}) {
    if (name != reserved) continue;
    complain(reading, kNameReserved, span,
             fmt::format("{} has a meaning of its own", quoted(name)),
             fmt::format("give {} another name", what));
    return false;
  }
  return true;
}

bool check_text(Reading& reading, const std::string& text, const Span& span,
                std::string_view target) {
  std::string problem = text_problem(text, reading.limits.text_length, target);
  if (problem.empty()) return true;
  complain(reading, kTextInvalid, span, std::move(problem));
  return false;
}

bool expect_type(Reading& reading, const TomlNode& node, TomlNode::Type type,
                 std::string_view target, std::string_view hint) {
  if (node.type == type) return true;
  std::string advice(hint);
  const bool is_text = node.type == TomlNode::Type::string;
  if (advice.empty() && type == TomlNode::Type::boolean && is_text)
    advice = "write true or false, without quotes";
  if (advice.empty() && type == TomlNode::Type::array && is_text)
    advice = R"(write a list: ["...", "..."])";
  complain(reading, kTomlType, node.span,
           fmt::format("{} must be {}, not {}", target, type_name(type),
                       type_name(node.type)),
           std::move(advice));
  return false;
}

namespace {

/// Adds what stands behind a misspelt key by the name that it likely means. Where that
/// is there already a table or list is added to it, and a single value is left out.
void add_guess(Reading& reading, std::vector<TomlEntry>& entries, TomlEntry guess) {
  const TomlNode::Type type = guess.value.type;
  const bool is_single = type != TomlNode::Type::table && type != TomlNode::Type::array;
  const auto there =
      std::find_if(entries.begin(), entries.end(),
                   [&guess](const TomlEntry& entry) { return entry.key == guess.key; });
  if (there == entries.end()) {
    reading.guessed.push_back(guess.key_span);
    if (is_single) reading.guessed.push_back(guess.value.span);
    entries.push_back(std::move(guess));
  } else if (!is_single && there->value.type == type) {
    for (TomlEntry& entry : guess.value.entries)
      if (find_entry(there->value, entry.key) == nullptr)
        there->value.entries.push_back(std::move(entry));
    for (TomlNode& item : guess.value.items)
      there->value.items.push_back(std::move(item));
  }
}

}  // namespace

KnownKeys known_keys(Reading& reading, const TomlNode& table,
                     const std::vector<std::string>& known, std::string_view where,
                     const std::function<std::string_view(std::string_view)>& meaning) {
  const auto is_known = [&known](const std::string& key) {
    return std::find(known.begin(), known.end(), key) != known.end();
  };
  KnownKeys keys;
  keys.given = &table;
  if (std::all_of(table.entries.begin(), table.entries.end(),
                  [&](const TomlEntry& entry) { return is_known(entry.key); }))
    return keys;
  std::vector<TomlEntry>& entries = keys.meant.emplace(table).entries;
  entries.clear();
  std::vector<TomlEntry> guesses;
  for (const TomlEntry& entry : table.entries) {
    if (is_known(entry.key)) {
      entries.push_back(entry);
      continue;
    }
    std::string near(meaning ? meaning(entry.key) : std::string_view());
    if (near.empty() && reading.suggestions_left-- > 0)
      near = nearest(entry.key, known);
    complain(reading, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a key of {}", quoted(entry.key), where),
             names_hint(near, known, "keys"));
    if (near.empty())
      keys.has_stranger = true;
    else
      guesses.push_back({near, entry.key_span, entry.value});
  }
  for (TomlEntry& guess : guesses) add_guess(reading, entries, std::move(guess));
  if (keys.has_stranger) reading.strange.push_back(table.span);
  return keys;
}

const std::vector<std::string>& description_keys() {
  static const std::vector<std::string> keys = {
      "title",  "ambient",  "catalogue", "parts", "nets",       "paths", "blocks",
      "states", "variants", "expect",    "runs",  "tolerances", "board", "boards"};
  return keys;
}

void advise(Reading& reading, std::string_view need) {
  const auto last =
      std::find_if(reading.diagnostics.rbegin(), reading.diagnostics.rend(),
                   [](const Diagnostic& d) { return d.id == kKeyUnknown.name; });
  if (last != reading.diagnostics.rend()) last->hint += fmt::format("; {}", need);
}

std::vector<std::string> key_names(const Kind& kind) {
  std::vector<std::string> names(kKeysOfAll.begin(), kKeysOfAll.end());
  for (const Key& key : kind.keys) names.emplace_back(key.name);
  return names;
}

bool is_key_name(const Kind& kind, std::string_view name) {
  return find_key(kind, name) != nullptr ||
         std::find(kKeysOfAll.begin(), kKeysOfAll.end(), name) != kKeysOfAll.end();
}

std::vector<const TomlNode*> tables_of(Reading& reading, const TomlEntry& list) {
  const TomlNode& value = list.value;
  const bool is_single = value.type == TomlNode::Type::table;
  std::vector<const TomlNode*> tables;
  if (expect_type(reading, value, TomlNode::Type::array, quoted(list.key),
                  fmt::format("write [[{}]]", list.key)))
    for (const TomlNode& item : value.items) tables.push_back(&item);
  if (is_single && !value.entries.empty()) tables.push_back(&value);
  return tables;
}

}  // namespace benchproof
