#pragma once

#include <string>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"

namespace benchproof {

/// Puts what is written in a usual way as descriptions have it, before anything is
/// read: other names of tables, kinds, keys and pins ("connections", "adapter", "ohms",
/// "lamp.+"), blanks and signs in names, the positions of switches ("on"), paths among
/// the nets, parts without a pin, the zero where one source alone can have it.
///
/// What can mean one thing only is taken. What is clear but says something about how
/// the thing is built, or is a habit that will mislead later, is read as meant with one
/// complaint, whose hint is the whole correction. The rest stays as it is.
void put_usual_words_right(Reading& reading, TomlNode& root);

/// The pins that a block likely has which does not tell them: the words of its paths
/// that are no part of it, and its nets, but for the ground.
[[nodiscard]] std::vector<std::string> likely_pins(const TomlNode& block);

}  // namespace benchproof
