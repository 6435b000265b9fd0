#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "core/circuit/blocks/detail/expanding.h"
#include "core/circuit/variants/changes.h"

// Uses of blocks, in whose place what the blocks hold is put.

namespace benchproof {
namespace {

void tell_too_large(Expanding& expanding, const Span& span, std::string message) {
  if (!expanding.is_too_large)
    complain(expanding.reading, kTooLarge, span, std::move(message));
  expanding.is_too_large = true;
}

bool has_room(Expanding& expanding, const BlockBody& body, std::size_t parts,
              const Span& span) {
  if (table_of(body, kPartsTable).entries.size() + parts <=
      expanding.reading.limits.parts)
    return true;
  tell_too_large(expanding, span,
                 fmt::format("the blocks come to more than {} parts",
                             expanding.reading.limits.parts));
  return false;
}

BlockDefinition* find_definition(Expanding& expanding, const TomlEntry& part,
                                 std::size_t source) {
  const TomlEntry& block = *find_entry(part.value, "block");
  if (find_entry(part.value, "kind") != nullptr)
    complain(expanding.reading, kKeyConflict, block.key_span,
             fmt::format("{} has both 'block' and 'kind'", quoted(part.key)),
             "give one of them");
  if (!expect_type(expanding.reading, block.value, TomlNode::Type::string,
                   fmt::format("'{}.block'", part.key)))
    return nullptr;
  const auto found = expanding.index.find(std::pair(source, block.value.text));
  if (found != expanding.index.end()) return found->second;
  std::vector<std::string> names;
  for (const TomlEntry& entry : entries_in(expanding.sources[source].root, "blocks"))
    names.push_back(entry.key);
  complain(expanding.reading, kBlockUnknown, block.value.span,
           fmt::format("there is no block {}", quoted(block.value.text)),
           names.empty()
               ? "this file has no [blocks]"
               : suggestion(expanding.reading, block.value.text, names, "blocks"));
  return nullptr;
}

/// Puts a copy of a block, with the values of its use, into what holds it.
void copy_into(Expanding& expanding, BlockBody& body, const BlockBody& inner,
               const TomlEntry& part) {
  const std::string prefix = part.key + "/";
  TomlEntry values = part;
  std::erase_if(values.value.entries, [](const TomlEntry& entry) {
    return entry.key == "block" || entry.key == "kind";
  });
  Changed changed = with_block_values(inner.root, values);
  for (Diagnostic& diagnostic : changed.diagnostics)
    expanding.reading.diagnostics.push_back(std::move(diagnostic));
  const std::size_t longest = add_prefix(changed.root, prefix);
  for (const BodyTable table : {kPartsTable, kNetsTable, kPathsTable})
    for (TomlEntry& entry : changed.root.entries[table].value.entries)
      table_of(body, table).entries.push_back(std::move(entry));
  for (TomlNode& expectation : changed.root.entries[kExpectTable].value.items)
    table_of(body, kExpectTable).items.push_back(std::move(expectation));
  for (BlockUse use : inner.uses) {
    use.name.insert(0, prefix);
    body.uses.push_back(std::move(use));
  }
  for (const std::string& name : inner.misread) body.misread.insert(prefix + name);
  if (longest > expanding.reading.limits.name_length)
    complain(
        expanding.reading, kNameInvalid, part.key_span,
        fmt::format("{} makes a name of {} characters; {} are allowed",
                    quoted(part.key), longest, expanding.reading.limits.name_length),
        "names within a block have the name of its use before them");
}

void add_use(Expanding& expanding, BlockBody& body, const TomlEntry& part,
             std::size_t source, int depth) {
  BlockDefinition* definition = find_definition(expanding, part, source);
  const BlockBody* inner =
      definition != nullptr ? body_of(expanding, *definition, part.key_span, depth + 1)
                            : nullptr;
  if (inner != nullptr && depth > 0 &&
      inner->depth >= expanding.reading.limits.block_depth) {
    complain(expanding.reading, kBlockDeep, part.key_span,
             fmt::format("blocks are nested {} deep; {} are allowed", inner->depth + 1,
                         expanding.reading.limits.block_depth));
    inner = nullptr;
  }
  if (inner != nullptr) {
    expanding.work += size_of(*inner);
    if (expanding.work > expanding.reading.limits.block_items)
      tell_too_large(expanding, part.key_span,
                     fmt::format("the blocks come to more than {} items",
                                 expanding.reading.limits.block_items));
  }
  BlockUse use{
      part.key, definition != nullptr ? definition->name : "", {}, part.key_span};
  const bool is_understood =
      inner != nullptr && !expanding.is_too_large &&
      has_room(expanding, body, table_of(*inner, kPartsTable).entries.size(),
               part.key_span);
  if (!is_understood) {
    body.misread.insert(part.key);
    body.uses.push_back(std::move(use));
    return;
  }
  use.pins = inner->pins;
  body.uses.push_back(std::move(use));
  body.depth = std::max(body.depth, inner->depth + 1);
  copy_into(expanding, body, *inner, part);
}

}  // namespace

bool is_use(const TomlEntry& part) {
  return part.value.type == TomlNode::Type::table &&
         find_entry(part.value, "block") != nullptr;
}

void add_part(Expanding& expanding, BlockBody& body, const TomlEntry& part,
              std::size_t source, int depth) {
  if (is_use(part)) {
    add_use(expanding, body, part, source, depth);
  } else if (has_room(expanding, body, 1, part.key_span)) {
    table_of(body, kPartsTable).entries.push_back(part);
  }
}

}  // namespace benchproof
