#include "cli/commands/write_file.h"

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

std::string because(const char* what) {
  return std::string(what) + ": " + std::strerror(errno);
}

bool write_all(int descriptor, std::string_view text, Durability durability) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return durability == Durability::none || ::fsync(descriptor) == 0;
}

}  // namespace

std::string write_file(const std::string& path, std::string_view text,
                       Durability durability) {
  const std::unique_ptr<char, decltype(&std::free)> real(
      ::realpath(path.c_str(), nullptr), &std::free);
  const std::string target = real ? real.get() : path;
  struct stat status = {};
  const bool is_there = ::stat(target.c_str(), &status) == 0;
  if (is_there && !S_ISREG(status.st_mode)) return "it is not a regular file";
  if (is_there && ::access(target.c_str(), W_OK) != 0)
    return because("it may not be changed");
  // A name of its own for each writing, in this program and others.
  static std::atomic<unsigned> count = 0;
  const std::string beside = fmt::format("{}.{}-{}", target, ::getpid(), ++count);
  constexpr mode_t kUsual = 0666;  // Less what the user's mask takes away.
  const int descriptor =
      ::open(beside.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, kUsual);
  if (descriptor < 0) return because("no file can be made beside it");
  std::string failure;
  if ((is_there && ::fchmod(descriptor, status.st_mode & 07777U) != 0) ||
      !write_all(descriptor, text, durability))
    failure = because("it could not be written");
  ::close(descriptor);
  if (failure.empty() && ::rename(beside.c_str(), target.c_str()) != 0)
    failure = because("it could not be replaced");
  if (!failure.empty()) ::unlink(beside.c_str());
  return failure;
}

}  // namespace benchproof
