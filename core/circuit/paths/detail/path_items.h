#pragma once

#include <string>
#include <string_view>

#include "core/circuit/paths/detail/joining.h"

namespace benchproof {

/// What an item of a path, or of a list, is.
struct PathItem {
  int enters = -1;  ///< The end that the item before is joined to; -1: not known.
  int leaves = -1;
  bool is_pin = false;
  bool is_through = false;  ///< A part of two pins, or a block.
  std::string owner;        ///< The part, block or net.
};

/// What an item of a path in that scope is. Complains of what is nothing.
[[nodiscard]] PathItem path_item(Joining& joining, const TomlNode& item,
                                 std::string_view scope);

/// A pin of a block's use, written "quay1.in"; complains where it has none of that
/// name.
[[nodiscard]] PathItem pin_of_use(Joining& joining, const TomlNode& item,
                                  const std::string& use, const std::string& pin);

/// Whether an item names what is inside of a block, seen from where it is written;
/// complains then.
[[nodiscard]] bool is_inside(Joining& joining, const TomlNode& item,
                             std::string_view scope);

/// The node of a pin of a part.
[[nodiscard]] int pin_node(Joining& joining, PinRef ref, const Span& span);

}  // namespace benchproof
