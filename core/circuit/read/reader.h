#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"
#include "core/circuit/entries/block_files.h"
#include "core/circuit/entries/limits.h"
#include "core/circuit/variants/changes.h"

namespace benchproof {

/// What is asked for beside the description.
struct Wishes {
  std::string variant = {};          ///< Empty: none, the description as it stands.
  std::vector<Change> changes = {};  ///< Laid over that.
  std::string text = {};  ///< In which the changes stand; for complaints about them.
  std::vector<BlockFile> files = {};  ///< Those that its blocks stand in.
};

struct ReadResult {
  std::optional<Circuit> circuit;       ///< Nothing if there are complaints.
  std::vector<Diagnostic> diagnostics;  ///< In line order.
};

/// Reads a description (DESIGN: TOML 1.0) in the variant and with the changes asked for
/// (see variants/changes.h), and checks its structure (see structure_check.h).
/// Every variant is read, asked for or not. A file with `pins` is a block: it is read
/// with its table [test], which proves it alone. All complaints come in one run, except
/// that a TOML syntax error ends the reading. A complaint about a change has a span
/// that says so, one about a block's file in which. `file_name` serves as the title
/// where none is given. Never throws on any input.
[[nodiscard]] ReadResult read_circuit(std::string_view text, std::string_view file_name,
                                      const Catalogue& catalogue,
                                      const Wishes& asked = {},
                                      const Limits& limits = {});

}  // namespace benchproof
