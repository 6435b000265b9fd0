#pragma once

#include <set>
#include <string>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/toml_tree.h"

// Variants and changes are laid over a description before it is read: what they say
// stands where the description says it, so that every rule of the reader holds for it.

namespace benchproof {

/// One change asked for beside the description: "quay_r.value" = "470R".
struct Change {
  std::string target;  ///< As a key of a variant.
  std::string value;   ///< As it would stand in the description, without quotes.
  Position at = {};    ///< Where "target=value" begins in the text of all changes.
};

/// A description with changes put in, not yet read.
struct Changed {
  TomlNode root;
  std::vector<Diagnostic> diagnostics;  ///< About targets; values are looked at later.
  std::set<int> lines;  ///< Of the description, on which what was put in stands.
};

/// The description with what one table of [variants] says laid over it. Targets, as
/// quoted dotted keys or sub-tables:
///
///     ambient                     of all parts
///     PART.KEY                    a value, a rating, a type, a label
///     PART.model.PARAMETER        one number of a model
///     STATE.SWITCH                "open" or "closed"
///     STATE.PART.OUTPUT           "high", "low", "open" or { pwm, frequency }
///     STATE.PART.OUTPUT.pwm       one key of a PWM, and `frequency`
///     STATE.PART.KEY              a value in that state
///
/// A part that is given by one of several keys (an LED by its colour or its type) is
/// given by the last one: the other, and what means nothing without it, goes. What the
/// description says in other places stays; a state's own value stands above its part's.
/// Kinds, pins and nets cannot be changed.
[[nodiscard]] Changed with_variant(const TomlNode& root, const TomlEntry& variant);

/// The body of a block with the values that a use of it gives, of its parts alone.
[[nodiscard]] Changed with_block_values(const TomlNode& body, const TomlEntry& use);

/// Lays changes that are asked for beside the description over it, as a variant's.
[[nodiscard]] Changed with_changes(const TomlNode& root,
                                   const std::vector<Change>& changes);

/// What a variant changes, for people: "quay_r.value=470R", in the order of the text.
[[nodiscard]] std::vector<std::string> changes_of(const TomlEntry& variant);

}  // namespace benchproof
