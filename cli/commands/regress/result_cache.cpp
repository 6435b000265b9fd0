#include "cli/commands/regress/result_cache.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <system_error>

#define XXH_INLINE_ALL
#include <xxhash.h>

#include "cli/commands/files/input.h"
#include "cli/commands/files/write_file.h"
#include "spice/session/engine_session.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostBytes = 64U << 20U;
constexpr auto kKeptFor = std::chrono::hours(24 * 60);

std::string hash_text(std::string_view text) {
  const XXH128_hash_t hash = XXH3_128bits(text.data(), text.size());
  return fmt::format("{:016x}{:016x}", hash.high64, hash.low64);
}

/// The folder for caches by the XDG Base Directory Specification 0.8, or nothing.
std::string cache_home() {
  const char* named = std::getenv("XDG_CACHE_HOME");
  if (named != nullptr && *named == '/') return named;
  const char* home = std::getenv("HOME");
  if (home != nullptr && *home == '/') return std::string(home) + "/.cache";
  return {};
}

/// Whether a file's name is that of a kept result.
bool is_key(std::string_view name) {
  constexpr std::size_t kDigits = 32;
  return name.size() == kDigits &&
         name.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

/// Whether others than this user may put something into a folder: then what is in it
/// proves nothing.
bool is_open_to_others(const std::string& folder) {
  struct stat status = {};
  return ::stat(folder.c_str(), &status) != 0 || status.st_uid != ::geteuid() ||
         (status.st_mode & (S_IWGRP | S_IWOTH)) != 0;
}

/// A text that changes whenever a file does, as far as its directory tells.
std::string file_state(const std::string& path) {
  struct stat status = {};
  if (::stat(path.c_str(), &status) != 0) return path + " missing";
  return fmt::format("{} {} {} {}.{:09}", path, status.st_ino, status.st_size,
                     status.st_mtim.tv_sec, status.st_mtim.tv_nsec);
}

const std::string& program_state() {
  static const std::string state = [] {
    std::error_code error;
    const std::string self = fs::read_symlink("/proc/self/exe", error).string();
    return fmt::format("{}\n{}\n{}\n{}\n", BENCHPROOF_VERSION, file_state(self),
                       file_state(default_worker()),
                       file_state(BENCHPROOF_ENGINE_LIBRARY));
  }();
  return state;
}

}  // namespace

ResultCache::ResultCache() {
  const std::string home = cache_home();
  if (home.empty()) {
    failure_ = "neither XDG_CACHE_HOME nor HOME names a folder";
    return;
  }
  const fs::path folder = fs::path(home) / "benchproof";
  std::error_code error;
  fs::create_directories(folder, error);
  if (!error && ::access(folder.c_str(), W_OK | X_OK) != 0)
    error = std::error_code(errno, std::generic_category());
  if (error) {
    failure_ = fmt::format("{}: {}", folder.string(), error.message());
    return;
  }
  if (is_open_to_others(folder.string())) {
    failure_ = fmt::format("{} is not this user's alone", folder.string());
    return;
  }
  folder_ = folder.string();
}

std::optional<std::string> ResultCache::find(const std::string& key) const {
  if (folder_.empty()) return std::nullopt;
  const std::string path = fmt::format("{}/{}", folder_, key);
  const Input input = read_ordinary(path, kMostBytes);
  if (!input.failure.empty()) return std::nullopt;
  const std::size_t line = input.bytes.find('\n');
  if (line == std::string::npos) return std::nullopt;
  std::string text = input.bytes.substr(line + 1);
  if (hash_text(text) != std::string_view(input.bytes).substr(0, line))
    return std::nullopt;
  // It was asked for now.
  static_cast<void>(::utimensat(AT_FDCWD, path.c_str(), nullptr, 0));
  return text;
}

void ResultCache::keep(const std::string& key, std::string_view text) const {
  if (folder_.empty()) return;
  static_cast<void>(write_file(fmt::format("{}/{}", folder_, key),
                               fmt::format("{}\n{}", hash_text(text), text),
                               Durability::none));
}

void ResultCache::forget_old() const {
  if (folder_.empty()) return;
  std::error_code error;
  const auto oldest = fs::file_time_type::clock::now() - kKeptFor;
  for (fs::directory_iterator entries(folder_, error);
       !error && entries != fs::directory_iterator(); entries.increment(error)) {
    std::error_code unknown;
    const bool is_ours =
        entries->symlink_status(unknown).type() == fs::file_type::regular &&
        is_key(entries->path().filename().string());
    if (!is_ours || unknown) continue;
    const auto time = entries->last_write_time(unknown);
    if (!unknown && time < oldest) fs::remove(entries->path(), unknown);
  }
}

std::string cache_key(const std::vector<std::string_view>& texts) {
  std::string all = program_state();
  // With their lengths, so that no two lists come to the same.
  for (const std::string_view text : texts) all += fmt::format("{}\n", text.size());
  for (const std::string_view text : texts) all += text;
  return hash_text(all);
}

}  // namespace benchproof
