#include "cli/commands/files/folder.h"

#include <fmt/format.h>
#include <fnmatch.h>

#include <algorithm>
#include <filesystem>
#include <system_error>

namespace benchproof {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kEnding = ".toml";

bool is_description(const fs::path& path) {
  const std::string name = path.filename().string();
  return !name.starts_with('.') && name.ends_with(kEnding) &&
         !name.ends_with(kRecordedEnding);
}

void collect_descriptions(const fs::path& folder, FoundFiles& found) {
  std::error_code error;
  fs::directory_iterator entries(folder, error);
  std::vector<fs::path> folders;
  std::vector<std::string> records;
  for (; !error && entries != fs::directory_iterator(); entries.increment(error)) {
    const fs::path& path = entries->path();
    std::error_code unknown;
    const bool is_hidden = path.filename().string().starts_with('.');
    if (entries->is_directory(unknown) && !entries->is_symlink(unknown)) {
      if (!is_hidden) folders.push_back(path);
    } else if (path.string().ends_with(kRecordedEnding)) {
      records.push_back(path.string());
    } else if (is_description(path)) {
      // A link that leads nowhere is told when it is read; a pipe would be waited for.
      const bool is_odd =
          entries->exists(unknown) && !entries->is_regular_file(unknown);
      if (is_odd) {
        found.failures.push_back(fmt::format("{}: is no ordinary file", path.string()));
      } else {
        found.files.push_back(path.string());
      }
    }
  }
  if (error)
    found.failures.push_back(
        fmt::format("{}: cannot be read: {}", folder.string(), error.message()));
  for (const std::string& record : records) {
    const std::string description =
        record.substr(0, record.size() - kRecordedEnding.size()) + std::string(kEnding);
    std::error_code unknown;
    if (!fs::exists(fs::symlink_status(description, unknown)))
      found.orphans.push_back(record);
  }
  for (const fs::path& inner : folders) collect_descriptions(inner, found);
}

}  // namespace

FoundFiles find_descriptions(const std::vector<std::string>& paths) {
  FoundFiles found;
  for (const std::string& path : paths) {
    std::error_code error;
    if (fs::is_directory(path, error)) {
      collect_descriptions(path, found);
    } else {
      found.files.push_back(path);  // Reading it tells what is wrong with it.
    }
  }
  std::sort(found.files.begin(), found.files.end());
  found.files.erase(std::unique(found.files.begin(), found.files.end()),
                    found.files.end());
  return found;
}

bool matches_pattern(const std::string& name, const std::string& pattern) {
  if (pattern.find_first_of("*?[") == std::string::npos)
    return name.find(pattern) != std::string::npos;
  const auto is_like = [&pattern](const std::string& text) {
    return ::fnmatch(pattern.c_str(), text.c_str(), 0) == 0;
  };
  return is_like(name) || is_like(fs::path(name).filename().string()) ||
         is_like(fs::path(name).stem().string());
}

std::string recorded_path(const std::string& description) {
  const std::string_view stem = std::string_view(description)
                                    .substr(0, description.ends_with(kEnding)
                                                   ? description.size() - kEnding.size()
                                                   : description.size());
  return std::string(stem) + std::string(kRecordedEnding);
}

}  // namespace benchproof
