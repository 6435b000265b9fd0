#pragma once

#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"

// Paths, and what joins blocks, are turned into lists of pins before nets are read: all
// later steps see nets only.

namespace benchproof {

/// The joints of a description as lists of pins.
struct Joined {
  TomlEntry nets;  ///< As [nets] would say it; items keep their places.
  /// Names of nets within blocks, and the net that each is a part of.
  std::vector<std::pair<std::string, std::string>> other_names = {};
  /// Nets of which a complaint was made: that they lack pins only follows from it.
  std::set<std::string> doubted = {};
};

/// Whether there is anything to turn: paths, or uses of blocks.
[[nodiscard]] bool needs_joining(const Reading& reading, const TomlNode& root);

/// Turns the paths of a description, and the pins of its blocks, into lists of pins.
/// The parts have been read.
///
/// An item of a path is a net, `net:NAME`, a pin, or a part of two pins, entered at its
/// first and left at its second; each is joined to the next one. Two pins of one part
/// that follow each other pass through it. A joint that nobody names gets the names of
/// its neighbours. Complains of what is none of these, and of what contradicts itself.
[[nodiscard]] Joined join(Reading& reading, const TomlNode& root);

}  // namespace benchproof
