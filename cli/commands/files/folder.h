#pragma once

#include <string>
#include <vector>

namespace benchproof {

/// The names of files with recorded results end so, in place of ".toml".
inline constexpr std::string_view kRecordedEnding = ".recorded.toml";

/// Descriptions found, and folders that could not be read.
struct FoundFiles {
  std::vector<std::string> files;     ///< In the order of their names, each once.
  std::vector<std::string> failures;  ///< A line each.
  /// Recorded results without a description beside them, left when it was renamed.
  std::vector<std::string> orphans;
};

/// The descriptions behind paths: a file is one; of a folder and the folders in it
/// every file "*.toml" but for recorded results and what begins with a dot. Links to
/// folders are not followed.
[[nodiscard]] FoundFiles find_descriptions(const std::vector<std::string>& paths);

/// Whether a path, or its last part with or without ".toml", matches a pattern of the
/// shell ('*', '?', '[a-z]'; '*' takes slashes too) as a whole; or whether the path
/// holds the pattern, where that has none of these marks.
[[nodiscard]] bool matches_pattern(const std::string& name, const std::string& pattern);

/// Where the recorded results of a description stand: beside it.
[[nodiscard]] std::string recorded_path(const std::string& description);

}  // namespace benchproof
