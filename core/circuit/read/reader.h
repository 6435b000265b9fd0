#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// The limits of a description; past one of them it is refused, with the figure.
struct Limits {
  std::size_t bytes = 1 << 20;
  std::size_t parts = 2000;
  std::size_t nets = 2000;
  std::size_t states = 200;
  std::size_t runs = 200;
  std::size_t variants = 50;
  std::size_t steps = 1000;          ///< Of one run.
  std::size_t pwm_corners = 12'000;  ///< Of one run: twice per change of an output.
  std::size_t all_corners = 60'000;  ///< Of all runs; steps count like changes.
  std::size_t figures = 250'000;     ///< Of all states: their phases times the parts.
  /// Of all versions that are judged together (a description with its variants, or what
  /// is compared): their states' phases times their parts.
  std::size_t all_figures = 500'000;
  std::size_t pins = 200;  ///< Outputs or inputs of one controller.
  int nesting = 16;
  int block_depth = 8;                ///< Blocks within each other.
  std::size_t block_files = 50;       ///< From which blocks are taken.
  std::size_t block_items = 100'000;  ///< Parts, and items of lists, of all blocks.
  std::size_t name_length = 64;
  std::size_t text_length = 200;  ///< Characters of a title, label, source or reason.
  std::size_t complaints = 50;    ///< More are counted, not told.
  /// The ids of the findings that a description may expect; empty: whatever.
  std::span<const std::string_view> findings = {};
};

/// One change asked for beside the description: "quay_r.value" = "470R".
struct Change {
  std::string target;  ///< As a key of a variant.
  std::string value;   ///< As it would stand in the description, without quotes.
  Position at = {};    ///< Where "target=value" begins in the text of all changes.
};

/// A file that a description takes blocks from (see block_files).
struct BlockFile {
  std::string path;     ///< From the description's folder.
  std::string text;     ///< At most as many bytes as a description.
  std::string failure;  ///< Why it could not be read; empty when it was.
};

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
