#include "core/circuit/blocks/blocks.h"

#include <algorithm>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "core/circuit/blocks/detail/expanding.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/wording/usual_words.h"

// Blocks are copied as trees, so that every rule of the reader holds for what they
// hold.

namespace benchproof {
namespace {

/// What stands in a block of the description itself is marked so: its complaints are
/// told once, however often the block is used.
constexpr int kInDescription = -1;

void set_file(TomlNode& node, int file) {
  node.span.file = file;
  for (TomlNode& item : node.items) set_file(item, file);
  for (TomlEntry& entry : node.entries) {
    entry.key_span.file = file;
    set_file(entry.value, file);
  }
}

/// A description's blocks, all that is looked up of it as a source of them.
TomlNode with_blocks_of(const TomlNode& root) {
  TomlNode blocks;
  if (const TomlEntry* entry = find_entry(root, "blocks"))
    blocks.entries.push_back(*entry);
  return blocks;
}

/// Reads the description's own tables; of a block's file those that prove it alone.
void read_description(Expanding& expanding) {
  Reading& reading = expanding.reading;
  TomlNode& root = expanding.root;
  put_usual_words_right(reading, root);
  const bool is_alone = is_block(root);
  KnownKeys keys =
      known_keys(reading, root, is_alone ? block_file_keys() : description_keys(),
                 is_alone ? "a block's file" : "a description", meant_table);
  if (keys.meant) root = *std::move(keys.meant);
  expanding.sources.push_back({is_alone ? root : with_blocks_of(root), "", true});
  if (is_alone) root = proof_of_block(reading, expanding.sources[0].root);
  if (TomlEntry* parts = find_entry(root, "parts");
      parts != nullptr && parts->value.type == TomlNode::Type::table)
    for (TomlEntry& part : parts->value.entries) name_what_it_is(reading, part);
}

/// Reads a file of blocks.
void read_source(Expanding& expanding, const BlockFile& file) {
  Reading& reading = expanding.reading;
  BlockSource source{{}, file.path, false};
  const int number = static_cast<int>(expanding.sources.size());
  if (file.failure.empty() && file.text.size() <= reading.limits.bytes) {
    auto tree = parse_toml(file.text, reading.limits.nesting);
    if (auto* diagnostic = std::get_if<Diagnostic>(&tree)) {
      diagnostic->span.file = number;
      reading.diagnostics.push_back(std::move(*diagnostic));
    } else {
      source.root = std::get<TomlNode>(std::move(tree));
      set_file(source.root, number);
      put_usual_words_right(reading, source.root);
      source.is_read = true;
    }
  }
  expanding.sources.push_back(std::move(source));
}

/// Notes all blocks by name; `is_alone`: the description is itself a block.
void index_definitions(Expanding& expanding, bool is_alone) {
  const auto add = [&](BlockDefinition definition) {
    const std::pair key(definition.source, definition.entry.key);
    expanding.definitions.push_back(std::move(definition));
    expanding.index.emplace(key, &expanding.definitions.back());
  };
  for (std::size_t k = 0; k < expanding.sources.size(); ++k)
    for (const TomlEntry& entry : entries_in(expanding.sources[k].root, "blocks")) {
      BlockDefinition definition{entry.key, entry, k};
      if (k == 0) set_file(definition.entry.value, kInDescription);
      add(std::move(definition));
    }
  if (is_alone) add({std::string(kItself), {"", {}, expanding.sources[0].root}, 0});
}

/// Puts a table in the place of the description's.
void put_table(TomlNode& root, TomlEntry made) {
  TomlEntry* there = find_entry(root, made.key);
  if (there == nullptr) {
    made.key_span = find_entry(root, "parts")->key_span;
    const bool is_empty = made.value.entries.empty() && made.value.items.empty();
    if (!is_empty) root.entries.push_back(std::move(made));
  } else if (made.value.type == TomlNode::Type::array &&
             there->value.type == TomlNode::Type::array) {
    std::move(made.value.items.begin(), made.value.items.end(),
              std::back_inserter(there->value.items));
  } else if (there->value.type == made.value.type) {
    there->value.entries = std::move(made.value.entries);
  }
}

/// Tells the later steps of the names that were made.
void note_names(Reading& reading, const BlockBody& body) {
  for (const BlockUse& use : body.uses)
    reading.uses[use.name] = {use.pins, use.span, !body.misread.contains(use.name)};
  for (const BodyTable table : {kPartsTable, kNetsTable, kPathsTable})
    for (const TomlEntry& entry : table_of(body, table).entries)
      if (entry.key.find('/') != std::string::npos)
        reading.made_names.insert(entry.key);
}

/// The description with what blocks hold in the place of their uses.
Expanded written_out(Expanding& expanding) {
  Reading& reading = expanding.reading;
  BlockBody body = empty_body();
  for (const TomlEntry& part : entries_in(expanding.root, "parts")) {
    const bool is_made = part.key.find('/') != std::string::npos;
    if ((is_made || is_use(part)) &&
        !check_name(reading, part.key, part.key_span, "a part"))
      continue;
    add_part(expanding, body, part, 0, 0);
  }
  for (const BodyTable table : {kNetsTable, kPathsTable}) {
    std::vector<TomlEntry> own;
    for (const TomlEntry& entry :
         entries_in(expanding.root, table == kNetsTable ? "nets" : "paths"))
      if (entry.key.find('/') == std::string::npos ||
          check_name(reading, entry.key, entry.key_span, "a net"))
        own.push_back(entry);
    std::vector<TomlEntry>& into = table_of(body, table).entries;
    into.insert(into.begin(), own.begin(), own.end());
  }
  note_names(reading, body);
  Expanded expanded{expanding.root, std::move(reading), std::move(body.uses)};
  for (TomlEntry& table : body.root.entries) put_table(expanded.root, std::move(table));
  return expanded;
}

}  // namespace

bool is_block(const TomlNode& root) { return find_entry(root, "pins") != nullptr; }

Expanded expand(TomlNode root, const Catalogue& catalogue, const Limits& limits,
                const std::vector<BlockFile>& files) {
  Expanding expanding{{catalogue, limits}, std::move(root), files};
  read_description(expanding);
  for (const BlockFile& file : files) read_source(expanding, file);
  index_definitions(expanding, is_block(expanding.sources[0].root));
  if (const TomlEntry* blocks = find_entry(expanding.root, "blocks"))
    (void)expect_type(expanding.reading, blocks->value, TomlNode::Type::table,
                      "'blocks'");
  for (BlockDefinition& definition : expanding.definitions) {
    const Span& span = definition.entry.key_span;
    if (definition.name != kItself)
      check_name(expanding.reading, definition.name, span, "a block");
    (void)body_of(expanding, definition, span, 1);
  }
  const std::vector<TomlEntry>& parts = entries_in(expanding.root, "parts");
  if (std::any_of(parts.begin(), parts.end(), is_use)) return written_out(expanding);
  return {std::move(expanding.root), std::move(expanding.reading), {}};
}

}  // namespace benchproof
