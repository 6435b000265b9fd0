#include "cli/commands/files/file_watch.h"

#include <fmt/format.h>
#include <poll.h>
#include <sys/inotify.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>

#include "cli/commands/files/write_file.h"

namespace benchproof {
namespace {

namespace fs = std::filesystem;

/// What counts as saving, and what may be a link that leads elsewhere now.
constexpr std::uint32_t kSaved = IN_CLOSE_WRITE | IN_MOVED_TO;
constexpr std::uint32_t kEvents = kSaved | IN_CREATE | IN_ONLYDIR;

/// So long nothing more may happen before a saving counts as over; and at most.
constexpr int kQuietMilliseconds = 15;
constexpr std::chrono::milliseconds kLongest{60};

bool is_readable(int descriptor, int milliseconds) {
  pollfd waiting{descriptor, POLLIN, 0};
  int result = 0;
  do {
    result = ::poll(&waiting, 1, milliseconds);
  } while (result < 0 && errno == EINTR);
  return result > 0;
}

}  // namespace

FileWatch::FileWatch() : descriptor_(::inotify_init1(IN_CLOEXEC)) {}

FileWatch::~FileWatch() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::string FileWatch::set(const std::vector<std::string>& paths) {
  if (descriptor_ < 0) return "this machine tells of no changes (inotify)";
  std::map<std::string, std::set<std::string>> wanted;
  const auto add = [&wanted](const fs::path& path) {
    const fs::path folder = path.parent_path();
    wanted[folder.empty() ? "." : folder.string()].insert(path.filename().string());
  };
  for (const std::string& path : paths) {
    add(path);
    std::error_code error;
    if (fs::is_symlink(path, error)) add(fs::weakly_canonical(path, error));
  }
  names_.clear();
  std::map<std::string, int> folders;
  for (const auto& [folder, names] : wanted) {
    const int watch = ::inotify_add_watch(descriptor_, folder.c_str(), kEvents);
    if (watch < 0)
      return with_system_error(fmt::format("'{}' cannot be watched", folder));
    folders[folder] = watch;
    names_[watch].insert(names.begin(), names.end());
  }
  for (const auto& [folder, watch] : folders_)
    if (!names_.contains(watch)) ::inotify_rm_watch(descriptor_, watch);
  folders_ = std::move(folders);
  return {};
}

bool FileWatch::read_events(bool& is_saved) {
  alignas(inotify_event) std::array<char, 16384> buffer{};
  const ssize_t size = ::read(descriptor_, buffer.data(), buffer.size());
  if (size < 0) return errno == EINTR;
  for (std::size_t at = 0; at < static_cast<std::size_t>(size);) {
    inotify_event event{};
    std::memcpy(&event, buffer.data() + at, sizeof event);
    const std::string name(event.len > 0 ? buffer.data() + at + sizeof event : "");
    at += sizeof event + event.len;
    const auto names = names_.find(event.wd);
    if (names == names_.end() || !names->second.contains(name)) continue;
    bool counts = (event.mask & kSaved) != 0;
    if (!counts && (event.mask & IN_CREATE) != 0) {
      for (const auto& [folder, watch] : folders_) {
        std::error_code ignored;
        counts = counts || (watch == event.wd &&
                            fs::is_symlink(fs::path(folder) / name, ignored));
      }
    }
    is_saved = is_saved || counts;
  }
  return true;
}

bool FileWatch::wait() {
  bool is_saved = false;
  while (!is_saved)
    if (!read_events(is_saved)) return false;
  const auto begin = std::chrono::steady_clock::now();
  while (std::chrono::steady_clock::now() - begin < kLongest &&
         is_readable(descriptor_, kQuietMilliseconds))
    if (!read_events(is_saved)) return false;
  return true;
}

}  // namespace benchproof
