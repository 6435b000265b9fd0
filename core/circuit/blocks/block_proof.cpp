#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "core/circuit/blocks/detail/expanding.h"

// The description that proves a block's file alone.

namespace benchproof {
namespace {

/// Puts the block itself among the parts of its test, as a use without a block's name.
void add_itself(Reading& reading, TomlNode& proof, const Span& span) {
  TomlEntry block{std::string(kItself), span, {}};
  block.value.span = span;
  block.value.entries.push_back({"block", span, text_node("", span)});
  if (find_entry(proof, "parts") == nullptr)
    proof.entries.push_back({"parts", span, {}});
  TomlEntry* parts = find_entry(proof, "parts");
  std::vector<TomlEntry>& entries = parts->value.entries;
  for (const TomlEntry& entry : entries)
    if (entry.key == kItself)
      complain(reading, kKeyConflict, entry.key_span,
               fmt::format("{} is the block itself here", quoted(entry.key)),
               "give the part another name");
  std::erase_if(entries, [](const TomlEntry& entry) { return entry.key == kItself; });
  entries.insert(entries.begin(), std::move(block));
}

}  // namespace

TomlNode proof_of_block(Reading& reading, const TomlNode& root) {
  const Span& pins = find_entry(root, "pins")->key_span;
  TomlNode proof;
  for (const char* key : {"title", "catalogue", "blocks"})
    if (const TomlEntry* entry = find_entry(root, key)) proof.entries.push_back(*entry);
  const TomlEntry* test = find_entry(root, "test");
  if (test == nullptr) {
    complain(
        reading, kBlockTest, pins,
        "this is a block; nothing says in which circuit it is proved",
        "a table [test] with parts, nets or paths, states and expectations, in "
        "which the block is the part 'block'; or prove a description that uses it");
    return proof;
  }
  if (!expect_type(reading, test->value, TomlNode::Type::table, "'test'")) return proof;
  const std::vector<std::string> keys = {"ambient", "parts",    "nets",   "paths",
                                         "states",  "variants", "expect", "runs"};
  const KnownKeys known = known_keys(reading, test->value, keys, "[test]");
  for (const TomlEntry& entry : known.table().entries)
    if (std::find(keys.begin(), keys.end(), entry.key) != keys.end())
      proof.entries.push_back(entry);
  add_itself(reading, proof, pins);
  return proof;
}

}  // namespace benchproof
