#pragma once

#include <string>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/reading.h"

// Blocks are written out before a description is read: what they hold stands among its
// parts, nets, paths and expectations, with the name of the use before its names.

namespace benchproof {

/// A description in which the blocks are written out.
struct Expanded {
  TomlNode root;
  /// Complaints about blocks, and what later steps must know of their uses.
  Reading reading;
  std::vector<BlockUse> uses = {};  ///< Outer ones before inner ones.
};

/// Writes the blocks out; of a block's file its table [test], in which the block itself
/// is the part "block". Every block is looked at, used or not. The work is bounded:
/// what comes to more than the limits is refused before it is made.
[[nodiscard]] Expanded expand(TomlNode root, const Catalogue& catalogue,
                              const Limits& limits,
                              const std::vector<BlockFile>& files);

/// Whether a file is that of a block: it has `pins`.
[[nodiscard]] bool is_block(const TomlNode& root);

}  // namespace benchproof
