#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace scratch {

/// A fresh folder, removed with its contents in the end.
class Folder {
 public:
  Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder();
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] bool is_empty() const { return std::filesystem::is_empty(path_); }

 private:
  std::filesystem::path path_;
};

/// Sets an environment variable and puts the former state back in the end.
class Setting {
 public:
  Setting(std::string name, const std::string& value);
  Setting(const Setting&) = delete;
  Setting& operator=(const Setting&) = delete;
  ~Setting();

 private:
  std::string name_;
  std::string former_;
  bool was_set_;
};

/// A line of /proc/PID/status or limits: what follows `key`, without blanks around.
[[nodiscard]] std::string field_of(const std::filesystem::path& file,
                                   const std::string& key);

/// The number of descriptors that this process holds.
[[nodiscard]] int open_descriptors();

/// True while this process has a child, running or not reaped.
[[nodiscard]] bool has_children();

/// Nothing but the worker and its odd double is started by these tests.
[[nodiscard]] std::string worker_path();

/// 10 V over 1 kohm and 3 kohm: 7.5 V at n2, 2.5 mA.
[[nodiscard]] std::vector<std::string> divider_deck();

}  // namespace scratch
