#include "core/circuit/entries/block_files.h"

#include <set>
#include <variant>

#include "core/base/complaints.h"
#include "core/base/toml_tree.h"
#include "core/circuit/entries/own_catalogue.h"

namespace benchproof {

std::string path_from(const std::string& from, const std::string& name) {
  const std::size_t slash = from.find_last_of('/');
  return slash == std::string::npos ? name : from.substr(0, slash + 1) + name;
}

std::vector<BlockFile> block_files(
    std::string_view description,
    const std::function<BlockFile(const std::string& path)>& load,
    const Limits& limits) {
  std::vector<BlockFile> files;
  std::set<std::string> known;
  const auto add_those_of = [&](std::string_view text, const std::string& from) {
    // Most descriptions have none, and need not be parsed twice to know.
    if (text.size() > limits.bytes || text.find("file") == std::string_view::npos)
      return;
    const auto tree = parse_toml(text, limits.nesting);
    const auto* root = std::get_if<TomlNode>(&tree);
    if (root == nullptr) return;
    for (const TomlEntry& block : entries_in(*root, "blocks")) {
      if (block.value.type != TomlNode::Type::table) continue;
      const TomlEntry* file = find_entry(block.value, "file");
      if (file == nullptr || file->value.type != TomlNode::Type::string ||
          !text_problem(file->value.text, limits.text_length, "").empty() ||
          !is_beside(file->value.text))
        continue;
      const std::string path = path_from(from, file->value.text);
      if (files.size() < limits.block_files && known.insert(path).second)
        files.push_back(load(path));
    }
  };
  add_those_of(description, "");
  for (std::size_t k = 0; k < files.size(); ++k) {
    const BlockFile file = files[k];  // The list grows.
    add_those_of(file.text, file.path);
  }
  return files;
}

}  // namespace benchproof
