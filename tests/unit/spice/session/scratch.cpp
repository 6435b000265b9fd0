#include "scratch.h"

#include <sys/wait.h>

#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <stdexcept>

#include "tests/files.h"

namespace scratch {

Folder::Folder() {
  std::string name = std::filesystem::temp_directory_path() / "benchproof-test-XXXXXX";
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

Setting::Setting(std::string name, const std::string& value) : name_(std::move(name)) {
  const char* former = std::getenv(name_.c_str());
  was_set_ = former != nullptr;
  if (was_set_) former_ = former;
  setenv(name_.c_str(), value.c_str(), 1);
}

Setting::~Setting() {
  if (was_set_) {
    setenv(name_.c_str(), former_.c_str(), 1);
  } else {
    unsetenv(name_.c_str());
  }
}

std::string field_of(const std::filesystem::path& file, const std::string& key) {
  std::ifstream stream(file);
  for (std::string line; std::getline(stream, line);) {
    if (!line.starts_with(key)) continue;
    line.erase(0, line.find_first_not_of(" \t", key.size()));
    return line;
  }
  return {};
}

int open_descriptors() {
  const std::filesystem::directory_iterator all("/proc/self/fd");
  return static_cast<int>(std::distance(begin(all), end(all)));
}

bool has_children() { return waitpid(-1, nullptr, WNOHANG) == 0 || errno != ECHILD; }

std::string worker_path() { return BENCHPROOF_BIN_DIR "/benchproof-worker"; }

std::vector<std::string> divider_deck() {
  return {"divider", "v1 n1 0 10", "r1 n1 n2 1k", "r2 n2 0 3k", ".end"};
}

}  // namespace scratch
