#include "cli/commands/files/templates.h"

#include <algorithm>
#include <filesystem>
#include <variant>

#include "cli/commands/files/folder.h"
#include "cli/commands/files/input.h"
#include "core/base/toml_tree.h"
#include "core/circuit/read/reader.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

/// A folder of ours has this file, and hardly another one.
constexpr std::string_view kDemo = "harbour-light.toml";

bool has_templates(const fs::path& folder) {
  std::error_code ignored;
  return fs::is_regular_file(folder / kDemo, ignored);
}

/// The first sentence of the comment that a text begins with.
std::string first_sentence(std::string_view text) {
  std::string comment;
  while (text.starts_with('#')) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(1, end - 1);
    line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
    if (line.empty()) break;
    comment += (comment.empty() ? "" : " ") + std::string(line);
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  const std::size_t stop = comment.find(". ");
  if (stop != std::string::npos) comment.resize(stop);
  while (comment.ends_with('.')) comment.pop_back();
  return comment;
}

/// Whether a text is a description by itself: no catalogue, no block of one.
bool is_whole(std::string_view text) {
  const auto tree = parse_toml(text, Limits().nesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  return root != nullptr && find_entry(*root, "parts") != nullptr &&
         find_entry(*root, "pins") == nullptr;
}

}  // namespace

std::string template_folder() {
  std::error_code ignored;
  const fs::path program = fs::read_symlink("/proc/self/exe", ignored);
  const fs::path installed =
      program.parent_path() / BENCHPROOF_DATA_FROM_PROGRAM / "circuits";
  if (has_templates(installed)) return installed.lexically_normal().string();
  // Built in place: build/PRESET/bin below the sources.
  constexpr int kSteps = 4;
  fs::path above = program.parent_path();
  for (int k = 0; k < kSteps && above.has_relative_path(); ++k) {
    above = above.parent_path();
    if (has_templates(above / "circuits")) return (above / "circuits").string();
  }
  return {};
}

std::vector<Template> templates_in(const std::string& folder) {
  std::vector<Template> templates;
  for (const std::string& path : find_descriptions({folder}).files) {
    const Input input = read_input(path, Limits().bytes);
    if (!input.failure.empty() || !is_whole(input.bytes)) continue;
    templates.push_back(
        {fs::path(path).stem().string(), path, first_sentence(input.bytes)});
  }
  std::sort(templates.begin(), templates.end(),
            [](const Template& a, const Template& b) { return a.name < b.name; });
  return templates;
}

std::vector<std::string> files_beside(std::string_view text) {
  std::vector<std::string> files;
  const auto tree = parse_toml(text, Limits().nesting);
  const auto* root = std::get_if<TomlNode>(&tree);
  if (root == nullptr) return files;
  const auto take = [&files](const TomlNode& table, std::string_view key) {
    const TomlEntry* entry = find_entry(table, key);
    if (entry != nullptr && entry->value.type == TomlNode::Type::string)
      files.push_back(entry->value.text);
  };
  take(*root, "catalogue");
  if (const TomlEntry* blocks = find_entry(*root, "blocks"))
    for (const TomlEntry& block : blocks->value.entries) take(block.value, "file");
  return files;
}

}  // namespace benchproof
