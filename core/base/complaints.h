#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/diagnostic_ids.h"
#include "core/base/quantity.h"
#include "core/base/toml_tree.h"

// What the readers of descriptions and of catalogue files say alike.

namespace benchproof {

/// The text in single quotes, shortened when very long.
[[nodiscard]] std::string quoted(std::string_view text);

/// A list of more names is not told in full.
inline constexpr std::size_t kMostListed = 16;

/// "did you mean 'tap'? nets: ground, inlet, tap": `near`, if there is one, and all
/// names when they are at most `most`; of more, the first ones where none is near.
[[nodiscard]] std::string names_hint(std::string_view near,
                                     const std::vector<std::string>& candidates,
                                     std::string_view what,
                                     std::size_t most = kMostListed);

/// Looking for near names costs time: so many looks for one file.
inline constexpr int kMostSuggestions = 60;

/// The names_hint with the near name looked for, unless no look is left; it takes one.
[[nodiscard]] std::string suggestion(int& looks_left, std::string_view name,
                                     const std::vector<std::string>& candidates,
                                     std::string_view what,
                                     std::size_t most = kMostListed);

/// What stands against a text that is meant to be printed: a control or invisible
/// character, or more than `most` characters. Empty when nothing does. `target` names
/// it.
[[nodiscard]] std::string text_problem(std::string_view text, std::size_t most,
                                       std::string_view target);

/// The id for each way in which a text is no quantity.
[[nodiscard]] const DiagnosticId& id_of(QuantityError::Kind kind);

/// Where `size` bytes from `offset` of a string stand, where the string stands in one
/// line as it is; else the span of all of it.
[[nodiscard]] Span span_within(const TomlNode& node, std::size_t offset,
                               std::size_t size = std::string::npos);

/// How a quantity of that unit is written: the hint for a number without one.
[[nodiscard]] std::string how_to_write(Unit unit);

/// "it must be above 0 V and at most 10 kV".
[[nodiscard]] std::string range_hint(double least, bool least_allowed, double most,
                                     Unit unit);

/// Complaints of one id and one cause made one, told at its first place; what the
/// others advise besides is told too. Takes them in order of their places.
[[nodiscard]] std::vector<Diagnostic> one_of_each_cause(
    std::vector<Diagnostic> diagnostics);

/// Puts complaints in order, tells each cause once and keeps the first ones; the others
/// are counted.
[[nodiscard]] std::vector<Diagnostic> first_complaints(
    std::vector<Diagnostic> diagnostics, std::size_t most);

}  // namespace benchproof
