#include "cli/commands/files/write_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <memory>

namespace benchproof {
namespace {

bool write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

/// Writes what comes, some at a time. False, with errno, where it could not.
bool write_pieces_to(
    int descriptor,
    const std::function<void(const std::function<void(std::string_view)>&)>& fill) {
  constexpr std::size_t kBytes = 1U << 16U;
  std::string pieces;
  bool is_written = true;
  const auto flush = [&] {
    is_written = is_written && write_all(descriptor, pieces);
    pieces.clear();
  };
  fill([&](std::string_view piece) {
    pieces += piece;
    if (pieces.size() >= kBytes) flush();
  });
  flush();
  return is_written;
}

/// Makes a file beside a target; its path goes to `beside`. The name is its own for
/// each writing, in this program and others; one that a killed program left is passed
/// by.
int open_beside(const std::string& target, std::string& beside) {
  constexpr mode_t kUsual = 0666;  // Less what the user's mask takes away.
  constexpr int kTries = 1000;
  static std::atomic<unsigned> count = 0;
  for (int k = 0; k < kTries; ++k) {
    beside = fmt::format("{}.{}-{}", target, ::getpid(), ++count);
    const int descriptor =
        ::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, kUsual);
    if (descriptor >= 0 || errno != EEXIST) return descriptor;
  }
  return -1;
}

/// Gives a new file the owner, the group and the permissions of the one that it is to
/// replace. A group that this user may not give is left.
bool take_over(int descriptor, const struct stat& status) {
  constexpr mode_t kPermissions = 0777;
  if (::fchown(descriptor, status.st_uid, status.st_gid) != 0 &&
      status.st_uid != ::geteuid())
    return false;
  return ::fchmod(descriptor, status.st_mode & kPermissions) == 0;
}

}  // namespace

std::string with_system_error(std::string_view what) {
  return fmt::format("{}: {}", what, std::strerror(errno));
}

std::string write_file(const std::string& path, std::string_view text,
                       Durability durability) {
  return write_file(
      path, [text](const auto& put) { put(text); }, durability);
}

std::string write_file(
    const std::string& path,
    const std::function<void(const std::function<void(std::string_view)>& put)>& fill,
    Durability durability) {
  for (const std::string_view place : {"/dev/", "/proc/"})
    if (path.starts_with(place)) return "it is not a regular file";
  const std::unique_ptr<char, decltype(&std::free)> real(
      ::realpath(path.c_str(), nullptr), &std::free);
  const std::string target = real ? real.get() : path;
  struct stat status = {};
  const bool is_there = ::stat(target.c_str(), &status) == 0;
  if (is_there && !S_ISREG(status.st_mode)) return "it is not a regular file";
  if (is_there && ::access(target.c_str(), W_OK) != 0)
    return with_system_error("it may not be changed");
  if (is_there && status.st_nlink > 1)
    return "it has other names (hard links), which would keep the old text";
  std::string beside;
  const int descriptor = open_beside(target, beside);
  if (descriptor < 0) return with_system_error("no file can be made beside it");
  std::string failure;
  if ((is_there && !take_over(descriptor, status)) ||
      !write_pieces_to(descriptor, fill) ||
      (durability == Durability::synced && ::fsync(descriptor) != 0))
    failure = with_system_error("it could not be written");
  ::close(descriptor);
  if (failure.empty() && ::rename(beside.c_str(), target.c_str()) != 0)
    failure = with_system_error("it could not be replaced");
  if (!failure.empty()) ::unlink(beside.c_str());
  return failure;
}

}  // namespace benchproof
