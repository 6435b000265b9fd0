#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

namespace benchproof {

/// Tells when files are saved: written and closed, or replaced by another one (inotify
/// of their folders, so that editors that write beside a file and rename are seen, and
/// links that lead elsewhere).
class FileWatch {
 public:
  FileWatch();
  ~FileWatch();
  FileWatch(const FileWatch&) = delete;
  FileWatch& operator=(const FileWatch&) = delete;

  /// Watches these files in place of those before. Returns why it cannot, or nothing.
  [[nodiscard]] std::string set(const std::vector<std::string>& paths);

  /// Waits until one of them was saved, and a moment longer for what belongs to the
  /// same saving. False when nothing can be waited for any more.
  [[nodiscard]] bool wait();

 private:
  [[nodiscard]] bool read_events(bool& is_saved);

  int descriptor_ = -1;
  std::map<std::string, int> folders_;          ///< Watch by folder.
  std::map<int, std::set<std::string>> names_;  ///< Names that count, by watch.
};

}  // namespace benchproof
