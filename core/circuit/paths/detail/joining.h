#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/toml_tree.h"
#include "core/circuit/entries/reading.h"
#include "core/circuit/paths/detail/joint_graph.h"
#include "core/circuit/paths/joints.h"

namespace benchproof {

/// Where an end is listed as open.
struct LeftOpen {
  Span span;
  std::string inner;  ///< The scope within a block, where its pin is joined as usual.
};

/// The joints of a description while they are made, and what is known for it.
struct Joining {
  Reading& reading;
  std::vector<const TomlEntry*> lists = {};
  std::vector<const TomlEntry*> paths = {};
  JointGraph graph = {};
  /// In how many places each word stands as a net; one that can mean nothing else
  /// counts as two.
  std::map<std::string, int, std::less<>> standing = {};
  std::set<int> listed = {};                      ///< Pins that lists name.
  std::map<int, LeftOpen> open = {};              ///< Ends that are left open.
  std::vector<int> doubted = {};                  ///< Ends of which no more is told.
  std::set<int> disputed = {};                    ///< Ends of pins that two lists name.
  std::vector<std::pair<int, Span>> passed = {};  ///< Parts that stand as items.
  std::set<std::string> mentioned = {};  ///< Nets of blocks' pins, joined outside.
  std::set<std::string> misread = {};    ///< Blocks whose pins were misspelt.
};

/// What is told of an end may only follow from another complaint; -1 is none.
void doubt(Joining& joining, int node);

/// Joins two ends, unless both have names of their own, or one is left open; complains
/// then. An end of -1 is not known.
void meet(Joining& joining, int a, int b, const Meeting& meeting);

/// The joints as lists of pins, with names.
[[nodiscard]] Joined joined_lists(Joining& joining, const TomlNode& root);

}  // namespace benchproof
