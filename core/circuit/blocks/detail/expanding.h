#pragma once

#include <cstddef>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/blocks/detail/block_body.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/reading.h"

// What the steps that write blocks out have in common.

namespace benchproof {

/// A file's text as a tree, and where it lies.
struct BlockSource {
  TomlNode root;
  std::string path;
  bool is_read = false;
};

/// A block by its name in one file.
struct BlockDefinition {
  std::string name;
  TomlEntry entry;
  std::size_t source = 0;  ///< The file that the name stands in.
  enum class Stage { unseen, begun, done } stage = Stage::unseen;
  std::optional<BlockBody> body = {};  ///< Nothing where it was not understood.
};

/// A description while its blocks are written out.
struct Expanding {
  Reading reading;
  TomlNode root;
  const std::vector<BlockFile>& files;
  std::vector<BlockSource> sources = {};  ///< The description, then the files.
  std::deque<BlockDefinition> definitions = {};
  /// By the file in which a name stands, and the name.
  std::map<std::pair<std::size_t, std::string>, BlockDefinition*> index = {};
  std::size_t work = 0;  ///< Items that were copied so far.
  bool is_too_large = false;
};

/// What the block is called in the description that proves it alone.
inline constexpr std::string_view kItself = "block";

/// The keys that a block's file may have.
[[nodiscard]] const std::vector<std::string>& block_file_keys();

/// The description that proves a block's file alone: its table [test], in which the
/// block itself is the part "block".
[[nodiscard]] TomlNode proof_of_block(Reading& reading, const TomlNode& root);

/// Of a part that has neither 'kind' nor 'block': tells what is likely meant to be it,
/// and reads on as if it stood there. A kind may be written in capitals ("LED").
void name_what_it_is(Reading& reading, TomlEntry& part);

/// What a block holds, read when it is first asked for; null after a complaint. `span`
/// is where it is asked for, and `depth` within how many blocks, with itself.
[[nodiscard]] const BlockBody* body_of(Expanding& expanding,
                                       BlockDefinition& definition, const Span& span,
                                       int depth);

/// Whether a part is the use of a block.
[[nodiscard]] bool is_use(const TomlEntry& part);

/// Adds a part to a body, or what the block holds of which it is a use. `source` is the
/// file in which the part stands.
void add_part(Expanding& expanding, BlockBody& body, const TomlEntry& part,
              std::size_t source, int depth);

}  // namespace benchproof
