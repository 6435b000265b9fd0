#pragma once

#include <algorithm>
#include <cstddef>
#include <string>
#include <string_view>

#include "core/circuit/entries/reserved_names.h"

// Where a name is written: in the description itself (""), or in the use of a block
// ("quay1/").

namespace benchproof {

[[nodiscard]] inline std::string_view scope_of(std::string_view name) {
  const std::size_t slash = name.rfind('/');
  return slash == std::string_view::npos ? std::string_view()
                                         : name.substr(0, slash + 1);
}

/// How many blocks a scope lies within.
[[nodiscard]] inline std::ptrdiff_t depth_of(std::string_view scope) {
  return std::count(scope.begin(), scope.end(), '/');
}

/// The zero is the same net in all blocks.
[[nodiscard]] inline std::string whole_name(const std::string& name) {
  return std::string_view(name).substr(scope_of(name).size()) == kGround
             ? std::string(kGround)
             : name;
}

/// Whether a list holds the pins that are left open.
[[nodiscard]] inline bool is_open_list(std::string_view key) {
  return key.substr(scope_of(key).size()) == kOpen;
}

}  // namespace benchproof
