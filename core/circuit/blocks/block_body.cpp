#include "core/circuit/blocks/detail/block_body.h"

#include <algorithm>

#include "core/circuit/entries/reserved_names.h"

namespace benchproof {
namespace {

void add_prefix_to_item(TomlNode& item, const std::string& prefix) {
  if (item.type != TomlNode::Type::string) return;
  item.text.insert(item.text.starts_with(kNetMark) ? kNetMark.size() : 0, prefix);
}

void add_prefix_to_expectation(TomlNode& table, const std::string& prefix) {
  for (TomlEntry& entry : table.entries) {
    const bool is_net = entry.key == "net" || entry.key == "to";
    if (entry.value.type == TomlNode::Type::string &&
        (entry.key == "part" || (is_net && entry.value.text != kGround)))
      entry.value.text.insert(0, prefix);
  }
}

}  // namespace

BlockBody empty_body() {
  BlockBody body;
  for (const char* key : {"parts", "nets", "paths", "expect"})
    body.root.entries.push_back({key, {}, {}});
  body.root.entries[kExpectTable].value.type = TomlNode::Type::array;
  return body;
}

TomlNode& table_of(BlockBody& body, BodyTable table) {
  return body.root.entries[table].value;
}
const TomlNode& table_of(const BlockBody& body, BodyTable table) {
  return body.root.entries[table].value;
}

std::size_t size_of(const BlockBody& body) {
  std::size_t size = table_of(body, kPartsTable).entries.size() +
                     4 * table_of(body, kExpectTable).items.size();
  for (const BodyTable table : {kNetsTable, kPathsTable})
    for (const TomlEntry& entry : table_of(body, table).entries)
      size += 1 + entry.value.items.size();
  return size;
}

std::size_t add_prefix(TomlNode& tables, const std::string& prefix) {
  std::size_t longest = 0;
  for (const BodyTable table : {kPartsTable, kNetsTable, kPathsTable})
    for (TomlEntry& entry : tables.entries[table].value.entries) {
      entry.key.insert(0, prefix);
      if (table != kPathsTable) longest = std::max(longest, entry.key.size());
      if (table != kPartsTable)
        for (TomlNode& item : entry.value.items) add_prefix_to_item(item, prefix);
    }
  for (TomlNode& expectation : tables.entries[kExpectTable].value.items)
    add_prefix_to_expectation(expectation, prefix);
  return longest;
}

}  // namespace benchproof
