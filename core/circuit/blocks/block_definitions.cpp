#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "core/circuit/blocks/detail/expanding.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/entries/reserved_names.h"
#include "core/circuit/wording/usual_words.h"

// What the blocks of a description hold.

namespace benchproof {
namespace {

/// The file that a block is taken from; nothing after a complaint.
std::optional<std::size_t> find_source(Expanding& expanding,
                                       const BlockDefinition& definition,
                                       const TomlEntry& file) {
  const std::string target = "'file'";
  if (!expect_type(expanding.reading, file.value, TomlNode::Type::string, target) ||
      !check_text(expanding.reading, file.value.text, file.value.span, target))
    return std::nullopt;
  const std::string& name = file.value.text;
  if (!is_beside(name)) {
    complain(expanding.reading, kBlockFile, file.value.span,
             fmt::format("{} does not name a file beside this one", quoted(name)),
             "a name within this file's folder: no leading '/', no '..'");
    return std::nullopt;
  }
  const std::string path = path_from(expanding.sources[definition.source].path, name);
  for (std::size_t k = 1; k < expanding.sources.size(); ++k) {
    if (expanding.sources[k].path != path) continue;
    if (expanding.sources[k].is_read) return k;
    if (const BlockFile& given = expanding.files[k - 1]; !given.failure.empty()) {
      complain(expanding.reading, kBlockFile, file.value.span,
               fmt::format("{} {}", quoted(name), given.failure),
               "it is looked for in this file's folder");
    } else if (given.text.size() > expanding.reading.limits.bytes) {
      complain(expanding.reading, kTooLarge, file.value.span,
               fmt::format("{} has more than {} bytes", quoted(name),
                           expanding.reading.limits.bytes));
    }
    return std::nullopt;
  }
  // Else its name stands behind a misspelt key, and nobody knew of it.
  if (expanding.files.size() >= expanding.reading.limits.block_files)
    complain(expanding.reading, kBlockFile, file.value.span,
             fmt::format("{} was not read", quoted(name)),
             fmt::format("blocks are taken from {} files at most",
                         expanding.reading.limits.block_files));
  return std::nullopt;
}

/// Whether a block says all that it has to say; complains otherwise.
bool is_whole(Reading& reading, const KnownKeys& keys, const std::string& where,
              const Span& span) {
  const TomlNode& table = keys.table();
  std::vector<std::string> missing;
  for (const char* key : {"pins", "parts"})
    if (find_entry(table, key) == nullptr) missing.push_back(fmt::format("'{}'", key));
  const bool is_joined =
      find_entry(table, "nets") != nullptr || find_entry(table, "paths") != nullptr;
  if (keys.has_stranger && !is_joined) missing.emplace_back("'nets' or 'paths'");
  if (missing.empty()) return true;
  if (keys.has_stranger) {
    advise(reading, fmt::format("a block needs {}", fmt::join(missing, " and ")));
    return false;
  }
  const bool has_no_pins = find_entry(table, "pins") == nullptr;
  std::vector<std::string> likely = likely_pins(table);
  if (likely.empty()) likely = {"in"};
  complain(reading, kKeyMissing, span,
           fmt::format("{} has no {}", where, fmt::join(missing, " and no ")),
           has_no_pins ? fmt::format("pins = [\"{}\"]: the nets of it that others are "
                                     "joined to",
                                     fmt::join(likely, "\", \""))
                       : "");
  return false;
}

bool read_pins(Reading& reading, const TomlNode& table, const std::string& where,
               BlockBody& body) {
  const TomlEntry* pins = find_entry(table, "pins");
  if (!expect_type(reading, pins->value, TomlNode::Type::array, "'pins'")) return false;
  if (pins->value.items.empty())
    complain(reading, kBlockPin, pins->value.span,
             fmt::format("{} has no pins, so nothing can be joined to it", where));
  for (const TomlNode& pin : pins->value.items) {
    if (!expect_type(reading, pin, TomlNode::Type::string, "a pin") ||
        !check_name(reading, pin.text, pin.span, "a pin"))
      continue;
    if (pin.text == kGround) {
      complain(reading, kBlockPin, pin.span, "'ground' is no pin of a block",
               "it is the same net everywhere");
    } else if (std::find(body.pins.begin(), body.pins.end(), pin.text) !=
               body.pins.end()) {
      complain(reading, kPinDuplicate, pin.span,
               fmt::format("{} has two pins {}", where, quoted(pin.text)));
    } else {
      body.pins.push_back(pin.text);
    }
  }
  return true;
}

/// Takes lists whose names are names.
void take_named(Reading& reading, const TomlNode& table, std::string_view key,
                std::string_view what, TomlNode& into) {
  const TomlEntry* entry = find_entry(table, key);
  if (entry == nullptr || !expect_type(reading, entry->value, TomlNode::Type::table,
                                       fmt::format("'{}'", key)))
    return;
  for (const TomlEntry& list : entry->value.entries)
    if (list.key == kOpen || check_name(reading, list.key, list.key_span, what))
      into.entries.push_back(list);
}

void check_pins(Reading& reading, const TomlNode& table, const std::string& where,
                const BlockBody& body) {
  std::set<std::string, std::less<>> words;
  for (const TomlEntry& list : table_of(body, kNetsTable).entries)
    words.insert(list.key);
  for (const TomlEntry& path : table_of(body, kPathsTable).entries)
    for (const TomlNode& item : path.value.items)
      words.insert(item.text.starts_with(kNetMark) ? item.text.substr(kNetMark.size())
                                                   : item.text);
  const TomlEntry* pins = find_entry(table, "pins");
  for (const std::string& pin : body.pins) {
    if (words.contains(pin)) continue;
    const auto at =
        std::find_if(pins->value.items.begin(), pins->value.items.end(),
                     [&pin](const TomlNode& item) { return item.text == pin; });
    complain(reading, kBlockPin, at->span,
             fmt::format("pin {} is no net of {}", quoted(pin), where),
             "a net of that name, in 'nets' or 'paths', is what others are joined to");
  }
}

std::optional<BlockBody> read_body(Expanding& expanding, const KnownKeys& keys,
                                   const std::string& where, const Span& span,
                                   std::size_t source, int depth) {
  const TomlNode& table = keys.table();
  BlockBody body = empty_body();
  const bool has_all = is_whole(expanding.reading, keys, where, span);
  const bool has_pins = find_entry(table, "pins") != nullptr &&
                        read_pins(expanding.reading, table, where, body);
  const TomlEntry* parts = find_entry(table, "parts");
  // A block that tells no pins is read on with those that it likely means.
  const bool lacks_pins = !keys.has_stranger && find_entry(table, "pins") == nullptr;
  if (lacks_pins) body.pins = likely_pins(table);
  const bool is_guessed = lacks_pins && parts != nullptr && !body.pins.empty();
  if (!is_guessed && (!has_all || !has_pins)) return std::nullopt;
  if (!expect_type(expanding.reading, parts->value, TomlNode::Type::table, "'parts'"))
    return std::nullopt;
  for (TomlEntry part : parts->value.entries) {
    if (!check_name(expanding.reading, part.key, part.key_span, "a part")) continue;
    name_what_it_is(expanding.reading, part);
    add_part(expanding, body, part, source, depth);
  }
  take_named(expanding.reading, table, "nets", "a net", table_of(body, kNetsTable));
  take_named(expanding.reading, table, "paths", "a path", table_of(body, kPathsTable));
  if (const TomlEntry* expect = find_entry(table, "expect");
      expect != nullptr &&
      expect_type(expanding.reading, expect->value, TomlNode::Type::array, "'expect'"))
    for (const TomlNode& item : expect->value.items)
      table_of(body, kExpectTable).items.push_back(item);
  if (!is_guessed) check_pins(expanding.reading, table, where, body);
  return body;
}

std::optional<BlockBody> read_block(Expanding& expanding,
                                    const BlockDefinition& definition, int depth) {
  const TomlNode& table = definition.entry.value;
  if (definition.source == 0 && definition.entry.key.empty())
    return read_body(
        expanding,
        known_keys(expanding.reading, table, block_file_keys(), "a block's file"),
        "this block", find_entry(table, "pins")->key_span, 0, depth);
  const std::string where = fmt::format("block {}", quoted(definition.name));
  if (!expect_type(expanding.reading, table, TomlNode::Type::table, where))
    return std::nullopt;
  const bool is_file = find_entry(table, "file") != nullptr;
  const KnownKeys keys =
      is_file
          ? known_keys(expanding.reading, table, {"file"}, "a block from a file")
          : known_keys(expanding.reading, table,
                       {"pins", "parts", "nets", "paths", "expect", "file"}, "a block");
  const TomlEntry* file = find_entry(keys.table(), "file");
  if (file == nullptr)
    return read_body(expanding, keys, where, definition.entry.key_span,
                     definition.source, depth);
  const auto source = find_source(expanding, definition, *file);
  if (!source) return std::nullopt;
  return read_body(expanding,
                   known_keys(expanding.reading, expanding.sources[*source].root,
                              block_file_keys(), "a block's file"),
                   where, file->value.span, *source, depth);
}

}  // namespace

const std::vector<std::string>& block_file_keys() {
  static const std::vector<std::string> keys = {"title",  "catalogue", "pins",
                                                "parts",  "nets",      "paths",
                                                "expect", "blocks",    "test"};
  return keys;
}

const BlockBody* body_of(Expanding& expanding, BlockDefinition& definition,
                         const Span& span, int depth) {
  if (definition.stage == BlockDefinition::Stage::done)
    return definition.body ? &*definition.body : nullptr;
  if (definition.stage == BlockDefinition::Stage::begun) {
    complain(expanding.reading, kBlockCircle, span,
             fmt::format("block {} would hold itself", quoted(definition.name)));
    return nullptr;
  }
  if (depth > expanding.reading.limits.block_depth) {
    complain(expanding.reading, kBlockDeep, span,
             fmt::format("blocks are nested {} deep; {} are allowed", depth,
                         expanding.reading.limits.block_depth));
    return nullptr;
  }
  definition.stage = BlockDefinition::Stage::begun;
  definition.body = read_block(expanding, definition, depth);
  definition.stage = BlockDefinition::Stage::done;
  return definition.body ? &*definition.body : nullptr;
}

}  // namespace benchproof
