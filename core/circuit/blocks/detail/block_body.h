#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// What a block holds, blocks within it written out.
struct BlockBody {
  std::vector<std::string> pins;
  TomlNode root;  ///< Its tables parts, nets, paths, and its list of expectations.
  std::vector<BlockUse> uses;
  std::set<std::string, std::less<>> misread;  ///< Uses that were not understood.
  int depth = 1;
};

/// The tables that every body has, in this order.
enum BodyTable : std::size_t { kPartsTable, kNetsTable, kPathsTable, kExpectTable };

[[nodiscard]] BlockBody empty_body();

[[nodiscard]] TomlNode& table_of(BlockBody& body, BodyTable table);
[[nodiscard]] const TomlNode& table_of(const BlockBody& body, BodyTable table);

/// How much work a copy of it is: parts, and items of lists.
[[nodiscard]] std::size_t size_of(const BlockBody& body);

/// Puts the name of a use, with a slash behind it, before all names in a body's tables.
/// Returns the length of the longest name of a part or net.
std::size_t add_prefix(TomlNode& tables, const std::string& prefix);

}  // namespace benchproof
