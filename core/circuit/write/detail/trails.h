#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/circuit.h"
#include "core/circuit/write/detail/nets_section.h"

// Paths along the parts of two pins that the lists of [nets] join.

namespace benchproof {

/// An item of a path that is being made.
struct TrailStep {
  bool is_net = false;
  std::string text;  ///< A net's name, a pin, or a part of two pins.
};

/// A path that is being made.
struct Trail {
  std::vector<TrailStep> steps;
  std::vector<std::string> pins;  ///< All that it takes out of the lists.
  std::string name;
  bool has_source = false;  ///< It begins with the net, the minus and the plus of one.
};

/// The pins that trails take out of the lists.
[[nodiscard]] std::set<std::string> taken_by(const std::vector<Trail>& trails);

/// The pins of a list that are not taken.
[[nodiscard]] std::vector<std::string> left_of(const WrittenList& list,
                                               const std::set<std::string>& taken);

/// The words in the quotes of TOML.
[[nodiscard]] std::vector<std::string> quoted_all(
    const std::vector<std::string>& words);

/// "name = [items]", broken where it gets too long.
[[nodiscard]] std::string list_line(const std::string& key,
                                    const std::vector<std::string>& items);

/// A part of two pins between two nets.
struct TrailPassage {
  std::string name;
  std::size_t to = 0;  ///< The list that it leads to.
};

/// How often each name stands as a net; what can mean nothing else counts as two.
using Standing = std::map<std::string, int, std::less<>>;

/// What is known of the lists of a description, and of what they join.
struct ListedWiring {
  const NetsSection& section;
  std::map<std::string, std::size_t, std::less<>> list_of = {};  ///< By pin.
  std::set<std::string, std::less<>> things = {};  ///< Names of parts and blocks.
  std::set<std::string> outputs = {};              ///< Pins from which current comes.
  std::set<std::string> loads = {};                ///< Lamps, motors and the like.
  /// The pins of parts of two, which are passed.
  std::map<std::string, std::pair<std::string, std::string>, std::less<>> ends = {};
  /// By the list they begin on: parts, and sources from their minus to their plus.
  std::map<std::size_t, std::vector<TrailPassage>> passages = {};
  std::map<std::size_t, std::vector<TrailPassage>> sources = {};
  Standing standing = {};  ///< Besides the lists, and the paths to come.
  std::set<std::string> path_names = {};
};

/// Keeps `section`.
[[nodiscard]] ListedWiring listed_wiring(const NetsSection& section,
                                         const TomlNode& root, const Circuit& circuit);

/// The paths that make the whole shorter.
[[nodiscard]] std::vector<Trail> shortening_trails(const ListedWiring& wiring);

/// How many bytes the wiring takes, without comments.
[[nodiscard]] std::size_t bytes_with(const ListedWiring& wiring,
                                     const std::vector<Trail>& trails);

/// The names of nets in paths, and how often each is there, or has to be taken as one.
[[nodiscard]] Standing names_with(const ListedWiring& wiring,
                                  const std::vector<Trail>& trails);

/// The items of a path as they are written.
[[nodiscard]] std::vector<std::string> items_of(const ListedWiring& wiring,
                                                const Trail& trail,
                                                const Standing& named);

}  // namespace benchproof
