#include "core/fault/detail/entry.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>
#include <utility>
#include <variant>

#include "core/base/complaints.h"

namespace benchproof {
namespace {

constexpr std::array kMarks = {Mark::verified, Mark::memory, Mark::practice};

/// Complains of keys at the top that are none of these.
void check_top(const TomlNode& root, const std::vector<std::string>& keys,
               std::vector<Diagnostic>& complaints) {
  for (const TomlEntry& entry : root.entries) {
    if (std::find(keys.begin(), keys.end(), entry.key) != keys.end()) continue;
    complaints.push_back({std::string(kKeyUnknown.name), entry.key_span,
                          fmt::format("no key {} here", quoted(entry.key)),
                          names_hint(nearest(entry.key, keys), keys, "keys")});
  }
}

}  // namespace

void Entry::complain(const DiagnosticId& id, const Span& span, std::string message,
                     std::string hint) {
  complaints_.push_back(
      {std::string(id.name), span, std::move(message), std::move(hint)});
}

Span Entry::span_of(std::string_view key) const {
  const TomlEntry* entry = find_entry(table_, key);
  return entry == nullptr ? span_ : entry->value.span;
}

const TomlNode* Entry::find(std::string_view key, TomlNode::Type type, bool is_needed) {
  asked_.emplace_back(key);
  const TomlEntry* entry = find_entry(table_, key);
  if (entry == nullptr) {
    if (is_needed) complain(kKeyMissing, span_, fmt::format("'{}' is missing", key));
    return nullptr;
  }
  if (entry->value.type == type) return &entry->value;
  complain(kTomlType, entry->value.span,
           fmt::format("'{}' is {} where {} is meant", key,
                       type_name(entry->value.type), type_name(type)));
  return nullptr;
}

std::string Entry::text(std::string_view key) {
  const TomlNode* node = find(key, TomlNode::Type::string, true);
  if (node == nullptr) return {};
  if (node->text.empty())
    complain(kTextInvalid, node->span, fmt::format("'{}' is empty", key));
  return node->text;
}

std::string Entry::text_if(std::string_view key) {
  const TomlNode* node = find(key, TomlNode::Type::string, false);
  return node == nullptr ? std::string() : node->text;
}

std::vector<std::string> Entry::texts(std::string_view key) {
  std::vector<std::string> texts;
  const TomlNode* node = find(key, TomlNode::Type::array, true);
  if (node == nullptr) return texts;
  for (const TomlNode& item : node->items) {
    if (item.type == TomlNode::Type::string)
      texts.push_back(item.text);
    else
      complain(kTomlType, item.span,
               fmt::format("'{}' holds {} where a text is meant", key,
                           type_name(item.type)));
  }
  return texts;
}

std::optional<double> Entry::number_if(std::string_view key, double least,
                                       double most) {
  const TomlNode* node = find(key, TomlNode::Type::number, false);
  if (node == nullptr) return std::nullopt;
  if (!(node->number >= least && node->number <= most))
    complain(kValueRange, node->span,
             fmt::format("'{}' is {}", key, shortest(node->number)),
             fmt::format("it must be from {} to {}", shortest(least), shortest(most)));
  return node->number;
}

double Entry::number(std::string_view key, double least, double most) {
  if (find_entry(table_, key) == nullptr)
    complain(kKeyMissing, span_, fmt::format("'{}' is missing", key));
  return number_if(key, least, most).value_or(least);
}

bool Entry::flag_if(std::string_view key) {
  const TomlNode* node = find(key, TomlNode::Type::boolean, false);
  return node != nullptr && node->flag;
}

std::string Entry::word(std::string_view key, const std::vector<std::string>& words) {
  const std::string chosen = text(key);
  if (chosen.empty() || std::find(words.begin(), words.end(), chosen) != words.end())
    return chosen;
  complain(kWordUnknown, span_of(key), fmt::format("no {} {}", key, quoted(chosen)),
           names_hint(nearest(chosen, words), words, "choices"));
  return {};
}

Mark Entry::mark() {
  std::vector<std::string> words;
  for (const Mark mark : kMarks) words.emplace_back(mark_word(mark));
  const std::string chosen = word("mark", words);
  for (const Mark mark : kMarks)
    if (mark_word(mark) == chosen) return mark;
  return Mark::practice;
}

void Entry::end() {
  for (const TomlEntry& entry : table_.entries) {
    if (std::find(asked_.begin(), asked_.end(), entry.key) != asked_.end()) continue;
    complain(kKeyUnknown, entry.key_span,
             fmt::format("no key {} here", quoted(entry.key)),
             names_hint(nearest(entry.key, asked_), asked_, "keys"));
  }
}

std::vector<Entry> entries_of(const TomlNode& root, std::string_view key,
                              std::vector<Diagnostic>& complaints) {
  std::vector<Entry> entries;
  const TomlEntry* list = find_entry(root, key);
  if (list == nullptr) return entries;
  if (list->value.type != TomlNode::Type::array) {
    complaints.push_back({std::string(kTomlType.name), list->key_span,
                          fmt::format("'{}' is no list of tables", key),
                          fmt::format("write [[{}]]", key)});
    return entries;
  }
  for (const TomlNode& item : list->value.items) {
    if (item.type == TomlNode::Type::table)
      entries.emplace_back(item, item.span, complaints);
    else
      complaints.push_back({std::string(kTomlType.name), item.span,
                            fmt::format("'{}' holds {} where a table is meant", key,
                                        type_name(item.type)),
                            ""});
  }
  return entries;
}

std::vector<Diagnostic> read_data_file(
    std::string_view text, const std::vector<std::string>& keys,
    const std::function<void(const TomlNode&, std::vector<Diagnostic>&)>& read) {
  constexpr int kNesting = 4;
  auto parsed = parse_toml(text, kNesting);
  if (auto* complaint = std::get_if<Diagnostic>(&parsed))
    return {std::move(*complaint)};
  const TomlNode& root = std::get<TomlNode>(parsed);
  std::vector<Diagnostic> complaints;
  check_top(root, keys, complaints);
  read(root, complaints);
  sort_by_position(complaints);
  return complaints;
}

void demand_none(const std::vector<Diagnostic>& complaints, std::string_view file,
                 std::string_view text) {
  if (!complaints.empty())
    throw std::runtime_error(to_text(complaints.front(), file, text));
}

}  // namespace benchproof
