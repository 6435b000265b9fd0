#include "core/circuit/entries/own_catalogue.h"

#include <algorithm>
#include <variant>

#include "core/base/complaints.h"
#include "core/base/toml_tree.h"

namespace benchproof {

bool is_beside(std::string_view path) {
  if (path.empty() || path.front() == '/' || path.back() == '/') return false;
  while (!path.empty()) {
    const std::size_t end = std::min(path.find('/'), path.size());
    if (path.substr(0, end) == "..") return false;
    path.remove_prefix(std::min(end + 1, path.size()));
  }
  return true;
}

std::optional<OwnCatalogue> own_catalogue(std::string_view description,
                                          const Limits& limits) {
  // Most descriptions have none, and need not be parsed twice to know.
  if (description.size() > limits.bytes ||
      description.find("catalogue") == std::string_view::npos)
    return std::nullopt;
  const auto tree = parse_toml(description, limits.nesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  const TomlEntry* entry = root != nullptr ? find_entry(*root, "catalogue") : nullptr;
  if (entry == nullptr || entry->value.type != TomlNode::Type::string ||
      !text_problem(entry->value.text, limits.text_length, "").empty() ||
      !is_beside(entry->value.text))
    return std::nullopt;
  return OwnCatalogue{entry->value.text, entry->value.span};
}

}  // namespace benchproof
