#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>

#include "tests/files.h"

namespace benchproof {

/// A folder of its own, removed at the end.
class Folder {
 public:
  /// @param place where it is made; ends with a slash.
  explicit Folder(const std::string& place = "/tmp/") {
    std::string path = place + "benchproof-cli-XXXXXX";
    if (mkdtemp(path.data()) == nullptr) throw std::runtime_error("no folder");
    path_ = path;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() { std::filesystem::remove_all(path_); }

  /// Writes a file; returns its path.
  std::string file(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name, std::ios::binary) << text;
    return (path_ / name).string();
  }
  [[nodiscard]] std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace benchproof
