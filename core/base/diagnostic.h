#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/span.h"

namespace benchproof {

/// Why a description is refused: one complaint, as data. Every diagnostic is an error; what
/// works but deserves care is a finding of a check, not a diagnostic.
struct Diagnostic {
  std::string id;       ///< Stable, for instance `net-dangling`.
  Span span;            ///< Where in the description; unknown for a whole file.
  std::string message;  ///< Lower case, no final stop, names in single quotes.
  std::string hint;     ///< What to do; may be empty.
};

/// Orders complaints by where they stand, then by id; removes exact repeats.
void sort_by_position(std::vector<Diagnostic>& diagnostics);

/// The text form of one complaint, without colour:
///
///     circuits/divider.toml:7:1: error: only pin 'r1.b' stands on net 'tap_' [net-dangling]
///         7 | tap_ = ["r1.b"]
///           | ^~~~
///       hint: did you mean 'tap'? nets so far: ground, inlet, tap
///
/// `source` is the description's text; control characters and invalid UTF-8 in the excerpt
/// are shown as '?', long lines are cut around the column. Ends in a line feed.
[[nodiscard]] std::string to_text(const Diagnostic& diagnostic,
                                  std::string_view file_name, std::string_view source);

/// The candidate closest to `name` (edit distance, case folded), or empty when none is
/// close: at most a third of the longer name's letters may differ, two at least.
[[nodiscard]] std::string nearest(std::string_view name,
                                  std::span<const std::string> candidates);

}  // namespace benchproof
