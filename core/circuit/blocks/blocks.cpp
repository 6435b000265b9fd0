#include "core/circuit/blocks/blocks.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <variant>

#include "core/catalogue/other_names.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/own_catalogue.h"
#include "core/circuit/entries/usual_names.h"
#include "core/circuit/paths/joints.h"
#include "core/circuit/variants/changes.h"
#include "core/circuit/wording/usual_words.h"

// Blocks are copied as trees, so that every rule of the reader holds for what they
// hold.

namespace benchproof {
namespace {

using Toml = TomlNode::Type;

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

const std::vector<TomlEntry>& entries_of(const TomlNode& table, std::string_view key) {
  static const std::vector<TomlEntry> none;
  const TomlEntry* entry = find_entry(table, key);
  return entry != nullptr && entry->value.type == Toml::table ? entry->value.entries
                                                              : none;
}

/// A file's text as a tree, and where it lies.
struct Source {
  TomlNode root;
  std::string path;
  bool is_read = false;
};

/// What a block holds, blocks within it written out.
struct Body {
  std::vector<std::string> pins;
  TomlNode root;  ///< Its tables parts, nets, paths, and its list of expectations.
  std::vector<BlockUse> uses;
  std::set<std::string, std::less<>> misread;  ///< Uses that were not understood.
  int depth = 1;
};

struct Definition {
  std::string name;
  TomlEntry entry;
  std::size_t source = 0;  ///< The file that the name stands in.
  enum class Stage { unseen, begun, done } stage = Stage::unseen;
  std::optional<Body> body;  ///< Nothing where it was not understood.
};

/// The tables that every body has, in this order.
enum Table : std::size_t { kPartsTable, kNetsTable, kPathsTable, kExpectTable };

Body empty_body() {
  Body body;
  for (const char* key : {"parts", "nets", "paths", "expect"})
    body.root.entries.push_back({key, {}, {}});
  body.root.entries[kExpectTable].value.type = Toml::array;
  return body;
}

TomlNode& table_of(Body& body, Table table) { return body.root.entries[table].value; }
const TomlNode& table_of(const Body& body, Table table) {
  return body.root.entries[table].value;
}

std::size_t size_of(const Body& body) {
  std::size_t size = table_of(body, kPartsTable).entries.size() +
                     4 * table_of(body, kExpectTable).items.size();
  for (const Table table : {kNetsTable, kPathsTable})
    for (const TomlEntry& entry : table_of(body, table).entries)
      size += 1 + entry.value.items.size();
  return size;
}

void add_prefix(TomlNode& item, const std::string& prefix) {
  if (item.type != Toml::string) return;
  if (item.text.starts_with(kNetMark)) {
    item.text.insert(kNetMark.size(), prefix);
  } else {
    item.text.insert(0, prefix);
  }
}

/// Puts the name of a use before the names in an expectation of its block.
void add_prefix_to_expectation(TomlNode& table, const std::string& prefix) {
  for (TomlEntry& entry : table.entries) {
    const bool is_net = entry.key == "net" || entry.key == "to";
    if (entry.value.type == Toml::string &&
        (entry.key == "part" || (is_net && entry.value.text != kGround)))
      entry.value.text.insert(0, prefix);
  }
}

/// What a block is called in the description that proves it alone.
constexpr std::string_view kItself = "block";

/// Puts the block itself among the parts of its test, as a use without a block's name.
void add_itself(Reading& reading, TomlNode& proof, const Span& span) {
  TomlEntry block{std::string(kItself), span, {}};
  block.value.span = span;
  block.value.entries.push_back({"block", span, {}});
  block.value.entries[0].value.type = Toml::string;
  block.value.entries[0].value.span = span;
  auto parts =
      std::find_if(proof.entries.begin(), proof.entries.end(),
                   [](const TomlEntry& entry) { return entry.key == "parts"; });
  if (parts == proof.entries.end()) {
    proof.entries.push_back({"parts", span, {}});
    parts = proof.entries.end() - 1;
  }
  std::vector<TomlEntry>& entries = parts->value.entries;
  for (const TomlEntry& entry : entries)
    if (entry.key == kItself)
      complain(reading, kKeyConflict, entry.key_span,
               fmt::format("{} is the block itself here", quoted(entry.key)),
               "give the part another name");
  std::erase_if(entries, [](const TomlEntry& entry) { return entry.key == kItself; });
  entries.insert(entries.begin(), std::move(block));
}

/// The description that proves a block's file alone: its table [test], in which the
/// block itself is the part "block".
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
  if (!expect_type(reading, test->value, Toml::table, "'test'")) return proof;
  const std::vector<std::string> keys = {"ambient", "parts",    "nets",   "paths",
                                         "states",  "variants", "expect", "runs"};
  const KnownKeys known = known_keys(reading, test->value, keys, "[test]");
  for (const TomlEntry& entry : known.table().entries)
    if (std::find(keys.begin(), keys.end(), entry.key) != keys.end())
      proof.entries.push_back(entry);
  add_itself(reading, proof, pins);
  return proof;
}

/// Of a part that has neither 'kind' nor 'block': tells what is likely meant to be it,
/// and reads on as if it stood there. A kind may be written in capitals ("LED").
void name_what_it_is(Reading& reading, TomlEntry& part) {
  if (part.value.type != Toml::table) return;
  for (TomlEntry& entry : part.value.entries) {
    if (entry.key != "kind" && entry.key != "block") continue;
    if (entry.key == "kind" && entry.value.type == Toml::string)
      if (const Kind* kind = find_kind(in_small_letters(entry.value.text)))
        entry.value.text = kind->name;
    return;
  }
  static const std::vector<std::string> names = {"kind", "block"};
  for (TomlEntry& entry : part.value.entries) {
    const std::string near = nearest(entry.key, names);
    if (near.empty()) continue;
    complain(reading, kKeyUnknown, entry.key_span,
             fmt::format("{} is not a key of a part", quoted(entry.key)),
             fmt::format("did you mean {}?", quoted(near)));
    entry.key = near;
    return;
  }
  for (TomlEntry& entry : part.value.entries) {
    const bool may_be = entry.value.type == Toml::string && entry.key != "label";
    const Kind* called = may_be ? find_kind_called(entry.value.text) : nullptr;
    if (called == nullptr) continue;
    const std::string kind(called->name);
    complain(reading, kKeyMissing, part.key_span,
             fmt::format("{} has no 'kind'", quoted(part.key)),
             fmt::format("write kind = \"{}\" in place of {}", kind, entry.key),
             fmt::format("{} in place of a kind", entry.key));
    entry.key = "kind";
    entry.value.text = kind;
    return;
  }
}

/// Writes blocks out.
class Expander {
 public:
  Expander(const TomlNode& root, const Catalogue& catalogue, const Limits& limits,
           const std::vector<BlockFile>& files)
      : reading_{catalogue, limits}, root_(root), files_(files) {
    put_usual_words_right(reading_, root_);
    const bool is_alone = is_block(root_);
    KnownKeys keys =
        known_keys(reading_, root_, is_alone ? file_keys() : description_keys(),
                   is_alone ? "a block's file" : "a description", meant_table);
    if (keys.meant) root_ = *std::move(keys.meant);
    sources_.push_back({root_, "", true});
    if (is_alone) root_ = proof_of_block(reading_, sources_[0].root);
    for (TomlEntry& entry : root_.entries)
      if (entry.key == "parts" && entry.value.type == Toml::table)
        for (TomlEntry& part : entry.value.entries) name_what_it_is(reading_, part);
    for (const BlockFile& file : files) read_source(file);
    for (std::size_t k = 0; k < sources_.size(); ++k)
      for (const TomlEntry& entry : entries_of(sources_[k].root, "blocks")) {
        definitions_.push_back({entry.key, entry, k, Definition::Stage::unseen, {}});
        if (k == 0) set_file(definitions_.back().entry.value, kInDescription);
        index_.emplace(std::pair(k, entry.key), &definitions_.back());
      }
    if (!is_alone) return;
    definitions_.push_back({std::string(kItself),
                            {"", {}, sources_[0].root},
                            0,
                            Definition::Stage::unseen,
                            {}});
    index_.emplace(std::pair(std::size_t{0}, std::string()), &definitions_.back());
  }

  Expanded make() {
    if (const TomlEntry* blocks = find_entry(root_, "blocks"))
      (void)expect_type(reading_, blocks->value, Toml::table, "'blocks'");
    for (Definition& definition : definitions_) {
      if (definition.name != kItself)
        check_name(reading_, definition.name, definition.entry.key_span, "a block");
      (void)body_of(definition, definition.entry.key_span, 1);
    }
    if (has_uses()) return written_out();
    return {std::move(root_), std::move(reading_), {}};
  }

 private:
  [[nodiscard]] bool has_uses() const {
    const std::vector<TomlEntry>& parts = entries_of(root_, "parts");
    return std::any_of(parts.begin(), parts.end(),
                       [](const TomlEntry& part) { return is_use(part); });
  }

  static bool is_use(const TomlEntry& part) {
    return part.value.type == Toml::table && find_entry(part.value, "block") != nullptr;
  }

  void read_source(const BlockFile& file) {
    Source source{{}, file.path, false};
    const int number = static_cast<int>(sources_.size());
    if (file.failure.empty() && file.text.size() <= reading_.limits.bytes) {
      auto tree = parse_toml(file.text, reading_.limits.nesting);
      if (auto* diagnostic = std::get_if<Diagnostic>(&tree)) {
        diagnostic->span.file = number;
        reading_.diagnostics.push_back(std::move(*diagnostic));
      } else {
        source.root = std::get<TomlNode>(std::move(tree));
        set_file(source.root, number);
        put_usual_words_right(reading_, source.root);
        source.is_read = true;
      }
    }
    sources_.push_back(std::move(source));
  }

  // Blocks.

  const Body* body_of(Definition& definition, const Span& span, int depth) {
    if (definition.stage == Definition::Stage::done)
      return definition.body ? &*definition.body : nullptr;
    if (definition.stage == Definition::Stage::begun) {
      complain(reading_, kBlockCircle, span,
               fmt::format("block {} would hold itself", quoted(definition.name)));
      return nullptr;
    }
    if (depth > reading_.limits.block_depth) {
      complain(reading_, kBlockDeep, span,
               fmt::format("blocks are nested {} deep; {} are allowed", depth,
                           reading_.limits.block_depth));
      return nullptr;
    }
    definition.stage = Definition::Stage::begun;
    definition.body = read_block(definition, depth);
    definition.stage = Definition::Stage::done;
    return definition.body ? &*definition.body : nullptr;
  }

  static std::vector<std::string> file_keys() {
    return {"title", "catalogue", "pins",   "parts", "nets",
            "paths", "expect",    "blocks", "test"};
  }

  std::optional<Body> read_block(const Definition& definition, int depth) {
    const TomlNode& table = definition.entry.value;
    if (definition.source == 0 && definition.entry.key.empty())
      return read_body(known_keys(reading_, table, file_keys(), "a block's file"),
                       "this block", find_entry(table, "pins")->key_span, 0, depth);
    const std::string where = fmt::format("block {}", quoted(definition.name));
    if (!expect_type(reading_, table, Toml::table, where)) return std::nullopt;
    const bool is_file = find_entry(table, "file") != nullptr;
    const KnownKeys keys =
        is_file ? known_keys(reading_, table, {"file"}, "a block from a file")
                : known_keys(reading_, table,
                             {"pins", "parts", "nets", "paths", "expect", "file"},
                             "a block");
    const TomlEntry* file = find_entry(keys.table(), "file");
    if (file == nullptr)
      return read_body(keys, where, definition.entry.key_span, definition.source,
                       depth);
    const auto source = find_source(definition, *file);
    if (!source) return std::nullopt;
    return read_body(
        known_keys(reading_, sources_[*source].root, file_keys(), "a block's file"),
        where, file->value.span, *source, depth);
  }

  /// The file that a block is taken from; nothing after a complaint.
  std::optional<std::size_t> find_source(const Definition& definition,
                                         const TomlEntry& file) {
    const std::string target = "'file'";
    if (!expect_type(reading_, file.value, Toml::string, target) ||
        !check_text(reading_, file.value.text, file.value.span, target))
      return std::nullopt;
    const std::string& name = file.value.text;
    if (!is_beside(name)) {
      complain(reading_, kBlockFile, file.value.span,
               fmt::format("{} does not name a file beside this one", quoted(name)),
               "a name within this file's folder: no leading '/', no '..'");
      return std::nullopt;
    }
    const std::string path = path_from(sources_[definition.source].path, name);
    for (std::size_t k = 1; k < sources_.size(); ++k) {
      if (sources_[k].path != path) continue;
      if (sources_[k].is_read) return k;
      if (const BlockFile& given = files_[k - 1]; !given.failure.empty()) {
        complain(reading_, kBlockFile, file.value.span,
                 fmt::format("{} {}", quoted(name), given.failure),
                 "it is looked for in this file's folder");
      } else if (given.text.size() > reading_.limits.bytes) {
        complain(reading_, kTooLarge, file.value.span,
                 fmt::format("{} has more than {} bytes", quoted(name),
                             reading_.limits.bytes));
      }
      return std::nullopt;
    }
    // Else its name stands behind a misspelt key, and nobody knew of it.
    if (files_.size() >= reading_.limits.block_files)
      complain(reading_, kBlockFile, file.value.span,
               fmt::format("{} was not read", quoted(name)),
               fmt::format("blocks are taken from {} files at most",
                           reading_.limits.block_files));
    return std::nullopt;
  }

  /// Whether a block says all that it has to say; complains otherwise.
  bool is_whole(const KnownKeys& keys, const std::string& where, const Span& span) {
    const TomlNode& table = keys.table();
    std::vector<std::string> missing;
    for (const char* key : {"pins", "parts"})
      if (find_entry(table, key) == nullptr)
        missing.push_back(fmt::format("'{}'", key));
    const bool is_joined =
        find_entry(table, "nets") != nullptr || find_entry(table, "paths") != nullptr;
    if (keys.has_stranger && !is_joined) missing.emplace_back("'nets' or 'paths'");
    if (missing.empty()) return true;
    if (keys.has_stranger) {
      advise(reading_, fmt::format("a block needs {}", fmt::join(missing, " and ")));
      return false;
    }
    const bool has_no_pins = find_entry(table, "pins") == nullptr;
    std::vector<std::string> likely = likely_pins(table);
    if (likely.empty()) likely = {"in"};
    complain(reading_, kKeyMissing, span,
             fmt::format("{} has no {}", where, fmt::join(missing, " and no ")),
             has_no_pins
                 ? fmt::format("pins = [\"{}\"]: the nets of it that others are "
                               "joined to",
                               fmt::join(likely, "\", \""))
                 : "");
    return false;
  }

  std::optional<Body> read_body(const KnownKeys& keys, const std::string& where,
                                const Span& span, std::size_t source, int depth) {
    const TomlNode& table = keys.table();
    Body body = empty_body();
    const bool has_all = is_whole(keys, where, span);
    const bool has_pins =
        find_entry(table, "pins") != nullptr && read_pins(table, where, body);
    const TomlEntry* parts = find_entry(table, "parts");
    // A block that tells no pins is read on with those that it likely means.
    const bool lacks_pins = !keys.has_stranger && find_entry(table, "pins") == nullptr;
    if (lacks_pins) body.pins = likely_pins(table);
    const bool is_guessed = lacks_pins && parts != nullptr && !body.pins.empty();
    if (!is_guessed && (!has_all || !has_pins)) return std::nullopt;
    if (!expect_type(reading_, parts->value, Toml::table, "'parts'"))
      return std::nullopt;
    for (TomlEntry part : parts->value.entries) {
      if (!check_name(reading_, part.key, part.key_span, "a part")) continue;
      name_what_it_is(reading_, part);
      add_part(body, part, source, depth);
    }
    take_named(table, "nets", "a net", table_of(body, kNetsTable));
    take_named(table, "paths", "a path", table_of(body, kPathsTable));
    if (const TomlEntry* expect = find_entry(table, "expect");
        expect != nullptr &&
        expect_type(reading_, expect->value, Toml::array, "'expect'"))
      for (const TomlNode& item : expect->value.items)
        table_of(body, kExpectTable).items.push_back(item);
    if (!is_guessed) check_pins(table, where, body);
    return body;
  }

  bool read_pins(const TomlNode& table, const std::string& where, Body& body) {
    const TomlEntry* pins = find_entry(table, "pins");
    if (!expect_type(reading_, pins->value, Toml::array, "'pins'")) return false;
    if (pins->value.items.empty())
      complain(reading_, kBlockPin, pins->value.span,
               fmt::format("{} has no pins, so nothing can be joined to it", where));
    for (const TomlNode& pin : pins->value.items) {
      if (!expect_type(reading_, pin, Toml::string, "a pin") ||
          !check_name(reading_, pin.text, pin.span, "a pin"))
        continue;
      if (pin.text == kGround) {
        complain(reading_, kBlockPin, pin.span, "'ground' is no pin of a block",
                 "it is the same net everywhere");
      } else if (std::find(body.pins.begin(), body.pins.end(), pin.text) !=
                 body.pins.end()) {
        complain(reading_, kPinDuplicate, pin.span,
                 fmt::format("{} has two pins {}", where, quoted(pin.text)));
      } else {
        body.pins.push_back(pin.text);
      }
    }
    return true;
  }

  /// Takes lists whose names are names.
  void take_named(const TomlNode& table, std::string_view key, std::string_view what,
                  TomlNode& into) {
    const TomlEntry* entry = find_entry(table, key);
    if (entry == nullptr ||
        !expect_type(reading_, entry->value, Toml::table, fmt::format("'{}'", key)))
      return;
    for (const TomlEntry& list : entry->value.entries)
      if (list.key == kOpen || check_name(reading_, list.key, list.key_span, what))
        into.entries.push_back(list);
  }

  void check_pins(const TomlNode& table, const std::string& where, const Body& body) {
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
      complain(
          reading_, kBlockPin, at->span,
          fmt::format("pin {} is no net of {}", quoted(pin), where),
          "a net of that name, in 'nets' or 'paths', is what others are joined to");
    }
  }

  // Uses.

  void add_part(Body& body, const TomlEntry& part, std::size_t source, int depth) {
    if (is_use(part)) {
      add_use(body, part, source, depth);
    } else if (has_room(body, 1, part.key_span)) {
      table_of(body, kPartsTable).entries.push_back(part);
    }
  }

  bool has_room(const Body& body, std::size_t parts, const Span& span) {
    if (table_of(body, kPartsTable).entries.size() + parts <= reading_.limits.parts)
      return true;
    tell_too_large(span, fmt::format("the blocks come to more than {} parts",
                                     reading_.limits.parts));
    return false;
  }

  void tell_too_large(const Span& span, std::string message) {
    if (!is_too_large_) complain(reading_, kTooLarge, span, std::move(message));
    is_too_large_ = true;
  }

  Definition* find_definition(const TomlEntry& part, std::size_t source) {
    const TomlEntry& block = *find_entry(part.value, "block");
    if (find_entry(part.value, "kind") != nullptr)
      complain(reading_, kKeyConflict, block.key_span,
               fmt::format("{} has both 'block' and 'kind'", quoted(part.key)),
               "give one of them");
    if (!expect_type(reading_, block.value, Toml::string,
                     fmt::format("'{}.block'", part.key)))
      return nullptr;
    const auto found = index_.find(std::pair(source, block.value.text));
    if (found != index_.end()) return found->second;
    std::vector<std::string> names;
    for (const TomlEntry& entry : entries_of(sources_[source].root, "blocks"))
      names.push_back(entry.key);
    complain(reading_, kBlockUnknown, block.value.span,
             fmt::format("there is no block {}", quoted(block.value.text)),
             names.empty() ? "this file has no [blocks]"
                           : suggestion(reading_, block.value.text, names, "blocks"));
    return nullptr;
  }

  void add_use(Body& body, const TomlEntry& part, std::size_t source, int depth) {
    Definition* definition = find_definition(part, source);
    const Body* inner = definition != nullptr
                            ? body_of(*definition, part.key_span, depth + 1)
                            : nullptr;
    if (inner != nullptr && depth > 0 && inner->depth >= reading_.limits.block_depth) {
      complain(reading_, kBlockDeep, part.key_span,
               fmt::format("blocks are nested {} deep; {} are allowed",
                           inner->depth + 1, reading_.limits.block_depth));
      inner = nullptr;
    }
    if (inner != nullptr) {
      work_ += size_of(*inner);
      if (work_ > reading_.limits.block_items)
        tell_too_large(part.key_span,
                       fmt::format("the blocks come to more than {} items",
                                   reading_.limits.block_items));
    }
    BlockUse use{
        part.key, definition != nullptr ? definition->name : "", {}, part.key_span};
    const bool is_understood =
        inner != nullptr && !is_too_large_ &&
        has_room(body, table_of(*inner, kPartsTable).entries.size(), part.key_span);
    if (!is_understood) {
      body.misread.insert(part.key);
      body.uses.push_back(std::move(use));
      return;
    }
    use.pins = inner->pins;
    body.uses.push_back(std::move(use));
    body.depth = std::max(body.depth, inner->depth + 1);
    copy_into(body, *inner, part);
  }

  /// Puts a copy of a block, with the values of its use, into what holds it.
  void copy_into(Body& body, const Body& inner, const TomlEntry& part) {
    const std::string prefix = part.key + "/";
    TomlEntry values = part;
    std::erase_if(values.value.entries, [](const TomlEntry& entry) {
      return entry.key == "block" || entry.key == "kind";
    });
    Changed changed = with_block_values(inner.root, values);
    for (Diagnostic& diagnostic : changed.diagnostics)
      reading_.diagnostics.push_back(std::move(diagnostic));
    std::size_t longest = 0;
    for (const Table table : {kPartsTable, kNetsTable, kPathsTable})
      for (TomlEntry& entry : changed.root.entries[table].value.entries) {
        entry.key.insert(0, prefix);
        if (table != kPathsTable) longest = std::max(longest, entry.key.size());
        if (table != kPartsTable)
          for (TomlNode& item : entry.value.items) add_prefix(item, prefix);
        table_of(body, table).entries.push_back(std::move(entry));
      }
    for (TomlNode& expectation : changed.root.entries[kExpectTable].value.items) {
      add_prefix_to_expectation(expectation, prefix);
      table_of(body, kExpectTable).items.push_back(std::move(expectation));
    }
    for (BlockUse use : inner.uses) {
      use.name.insert(0, prefix);
      body.uses.push_back(std::move(use));
    }
    for (const std::string& name : inner.misread) body.misread.insert(prefix + name);
    if (longest > reading_.limits.name_length)
      complain(reading_, kNameInvalid, part.key_span,
               fmt::format("{} makes a name of {} characters; {} are allowed",
                           quoted(part.key), longest, reading_.limits.name_length),
               "names within a block have the name of its use before them");
  }

  // The description itself.

  Expanded written_out() {
    Body body = empty_body();
    for (const TomlEntry& part : entries_of(root_, "parts")) {
      const bool is_made = part.key.find('/') != std::string::npos;
      if (is_made || is_use(part)) {
        if (!check_name(reading_, part.key, part.key_span, "a part")) continue;
      }
      add_part(body, part, 0, 0);
    }
    for (const char* key : {"nets", "paths"}) {
      TomlNode& into =
          table_of(body, std::string_view(key) == "nets" ? kNetsTable : kPathsTable);
      std::vector<TomlEntry> own;
      for (const TomlEntry& entry : entries_of(root_, key))
        if (entry.key.find('/') == std::string::npos ||
            check_name(reading_, entry.key, entry.key_span, "a net"))
          own.push_back(entry);
      into.entries.insert(into.entries.begin(), own.begin(), own.end());
    }
    note(body);
    Expanded expanded{root_, std::move(reading_), std::move(body.uses)};
    for (const Table table : {kPartsTable, kNetsTable, kPathsTable, kExpectTable})
      put(expanded.root, std::move(body.root.entries[table]));
    return expanded;
  }

  /// Tells the later steps of the names that were made.
  void note(const Body& body) {
    for (const BlockUse& use : body.uses)
      reading_.uses[use.name] = {use.pins, use.span, !body.misread.contains(use.name)};
    for (const Table table : {kPartsTable, kNetsTable, kPathsTable})
      for (const TomlEntry& entry : table_of(body, table).entries)
        if (entry.key.find('/') != std::string::npos)
          reading_.made_names.insert(entry.key);
  }

  /// Puts a table in the place of the description's.
  void put(TomlNode& root, TomlEntry made) {
    const auto there =
        std::find_if(root.entries.begin(), root.entries.end(),
                     [&made](const TomlEntry& entry) { return entry.key == made.key; });
    const bool is_list = made.value.type == Toml::array;
    if (there == root.entries.end()) {
      const TomlEntry* parts = find_entry(root, "parts");
      made.key_span = parts->key_span;
      const bool is_empty = made.value.entries.empty() && made.value.items.empty();
      if (!is_empty) root.entries.push_back(std::move(made));
    } else if (is_list && there->value.type == Toml::array) {
      std::move(made.value.items.begin(), made.value.items.end(),
                std::back_inserter(there->value.items));
    } else if (there->value.type == made.value.type) {
      there->value.entries = std::move(made.value.entries);
    }
  }

  Reading reading_;
  TomlNode root_;
  const std::vector<BlockFile>& files_;
  std::vector<Source> sources_;  ///< The description, then the files.
  std::deque<Definition> definitions_;
  std::map<std::pair<std::size_t, std::string>, Definition*> index_;
  std::size_t work_ = 0;  ///< Items that were copied so far.
  bool is_too_large_ = false;
};

}  // namespace

Expanded expand(const TomlNode& root, const Catalogue& catalogue, const Limits& limits,
                const std::vector<BlockFile>& files) {
  return Expander(root, catalogue, limits, files).make();
}

bool is_block(const TomlNode& root) { return find_entry(root, "pins") != nullptr; }

std::string path_from(const std::string& from, const std::string& name) {
  const std::size_t slash = from.find_last_of('/');
  return slash == std::string::npos ? name : from.substr(0, slash + 1) + name;
}

std::vector<BlockFile> block_files(
    std::string_view description,
    const std::function<BlockFile(const std::string& path)>& load,
    const Limits& limits) {
  std::vector<BlockFile> files;
  std::set<std::string> known;
  const auto add_those_of = [&](std::string_view text, const std::string& from) {
    // Most descriptions have none, and need not be parsed twice to know.
    if (text.size() > limits.bytes || text.find("file") == std::string_view::npos)
      return;
    const auto tree = parse_toml(text, limits.nesting);
    const auto* root = std::get_if<TomlNode>(&tree);
    if (root == nullptr) return;
    for (const TomlEntry& block : entries_of(*root, "blocks")) {
      if (block.value.type != Toml::table) continue;
      const TomlEntry* file = find_entry(block.value, "file");
      if (file == nullptr || file->value.type != Toml::string ||
          !text_problem(file->value.text, limits.text_length, "").empty() ||
          !is_beside(file->value.text))
        continue;
      const std::string path = path_from(from, file->value.text);
      if (files.size() < limits.block_files && known.insert(path).second)
        files.push_back(load(path));
    }
  };
  add_those_of(description, "");
  for (std::size_t k = 0; k < files.size(); ++k) {
    const BlockFile file = files[k];  // The list grows.
    add_those_of(file.text, file.path);
  }
  return files;
}

}  // namespace benchproof
