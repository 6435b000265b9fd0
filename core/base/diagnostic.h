#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/span.h"

namespace benchproof {

/// Why a description is refused: one complaint, as data. Every diagnostic is an error;
/// what works but deserves care is a finding of a check, not a diagnostic.
struct Diagnostic {
  std::string id;       ///< Stable, for instance `net-dangling`.
  Span span;            ///< Where in the description; unknown for a whole file.
  std::string message;  ///< Lower case, no final stop, names in single quotes.
  std::string hint;     ///< What to do; may be empty.
  /// What is wrong, without whose it is: complaints of one id and one cause are told
  /// as one. Empty: the message says it.
  std::string cause = {};
  std::vector<Span> also = {};  ///< Where else the same is wrong, in order.
};

/// Orders complaints by where they stand, then by id; removes exact repeats.
void sort_by_position(std::vector<Diagnostic>& diagnostics);

/// The text form of one complaint, without colour:
///
///     circuits/divider.toml:7:1: error: only pin 'r1.b' stands on net 'tap_' [...]
///         7 | tap_ = ["r1.b"]
///           | ^~~~
///       hint: did you mean 'tap'? nets so far: ground, inlet, tap
///
/// where the brackets hold the id. What is wrong in more places than one ends in a line
/// that tells them ("in 3 places: lines 7, 9, 12"). `source` is the description's text;
/// its line is cut around the column to at most 80 columns, message and hint are not.
/// All texts go through `printable`. The mark counts one column for each code point.
/// Without a line only the file is named, and without a column nothing is marked. Ends
/// in a line feed.
[[nodiscard]] std::string to_text(const Diagnostic& diagnostic,
                                  std::string_view file_name, std::string_view source);

/// What the text form begins with: "circuits/divider.toml:7:1".
[[nodiscard]] std::string place_text(const Diagnostic& diagnostic,
                                     std::string_view file_name);

/// The text with every control, invisible and direction-turning character and every
/// invalid UTF-8 byte shown as '?', and a tab as a space: safe to print on a terminal.
[[nodiscard]] std::string printable(std::string_view text);

/// The candidate closest to `name`, or empty when none is close: at most a third of the
/// longer name's letters, one at least but not all, may be inserted, dropped, changed
/// or swapped with their neighbour. ASCII case does not count. Of equals the first;
/// names of more than 64 bytes are never close.
[[nodiscard]] std::string nearest(std::string_view name,
                                  std::span<const std::string> candidates);

}  // namespace benchproof
