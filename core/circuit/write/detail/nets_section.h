#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/span.h"
#include "core/base/toml_tree.h"

// How the table [nets] of a description is written: its lists, and the comments about
// them.

namespace benchproof {

/// A list of [nets] as it is written.
struct WrittenList {
  std::string name;
  std::string key;  ///< As written.
  std::vector<std::string> pins;
  std::vector<std::string> above;  ///< Comments in lines of their own, and within it.
  std::string beside;              ///< The comment behind it.
  bool has_gap = false;            ///< An empty line stands before it.
};

/// The table [nets] as it is written.
struct NetsSection {
  std::size_t begin = 0;  ///< Of its header's line.
  std::size_t end = 0;    ///< Behind its last list, without the end of the line.
  std::string header;     ///< The comment behind the header.
  std::vector<WrittenList> lists;
};

/// Reads how [nets] is written; nothing where it is not a table of its own.
[[nodiscard]] std::optional<NetsSection> read_section(std::string_view text,
                                                      const TomlNode& nets);

/// The byte of a text at which a place is; its end where the place lies behind it.
[[nodiscard]] std::size_t byte_at(std::string_view text, const Position& place);

}  // namespace benchproof
