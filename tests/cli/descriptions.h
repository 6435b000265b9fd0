#pragma once

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

namespace benchproof {

/// All descriptions of some folders of the source tree, in order.
[[nodiscard]] inline std::vector<std::filesystem::path> descriptions_in(
    const std::vector<std::string>& folders) {
  namespace fs = std::filesystem;
  std::vector<fs::path> paths;
  for (const std::string& folder : folders) {
    for (const auto& entry :
         fs::directory_iterator(fs::path(BENCHPROOF_SOURCE_DIR) / folder)) {
      const fs::path& path = entry.path();
      if (path.extension() == ".toml" &&
          path.string().find(".recorded.") == std::string::npos)
        paths.push_back(path);
    }
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

}  // namespace benchproof
