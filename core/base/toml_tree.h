#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/span.h"

namespace benchproof {

struct TomlEntry;

/// A TOML value as plain data, with its place. Columns count bytes.
struct TomlNode {
  enum class Type { string, number, boolean, time, array, table };
  Type type = Type::table;
  std::string text;     ///< Of a string.
  double number = 0.0;  ///< Of an integer or float; may be infinite or not a number.
  bool flag = false;    ///< Of a boolean.
  std::vector<TomlNode> items;     ///< Of an array.
  std::vector<TomlEntry> entries;  ///< Of a table, in the order of the text.
  Span span;
};

/// A key and what stands behind it.
struct TomlEntry {
  std::string key;
  Span key_span;
  TomlNode value;
};

/// The entry of that key, or nothing.
[[nodiscard]] const TomlEntry* find_entry(const TomlNode& table, std::string_view key);
[[nodiscard]] TomlEntry* find_entry(TomlNode& table, std::string_view key);

/// The entries of the table that stands behind a key; none where no table does.
[[nodiscard]] const std::vector<TomlEntry>& entries_in(const TomlNode& table,
                                                       std::string_view key);

/// A text as a value that stands there.
[[nodiscard]] TomlNode text_node(std::string text, const Span& span);

/// "a text", "a number" ... for messages.
[[nodiscard]] std::string_view type_name(TomlNode::Type type);

/// Reads TOML 1.0, with or without a byte order mark. A file that is not UTF-8, is
/// nested deeper than `nesting`, or breaks the syntax gives the first complaint
/// instead. The nesting is bounded before the parser sees the text, so that no text
/// exhausts the stack.
[[nodiscard]] std::variant<TomlNode, Diagnostic> parse_toml(std::string_view text,
                                                            int nesting);

}  // namespace benchproof
