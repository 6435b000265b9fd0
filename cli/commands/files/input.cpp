#include "cli/commands/files/input.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <filesystem>
#include <system_error>

namespace benchproof {
namespace {

std::string error_text(int error) { return std::generic_category().message(error); }

/// Fills `bytes` from a descriptor up to `most` bytes; 0, or what went wrong.
int read_up_to(int descriptor, std::size_t most, std::string& bytes) {
  std::array<char, 1 << 14> chunk;
  while (bytes.size() < most) {
    const std::size_t wanted = std::min(chunk.size(), most - bytes.size());
    const ssize_t got = read(descriptor, chunk.data(), wanted);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return errno;
    if (got == 0) break;
    bytes.append(chunk.data(), static_cast<std::size_t>(got));
  }
  return 0;
}

}  // namespace

Input read_input(const std::string& path, std::size_t limit) {
  const bool is_standard = path == "-";
  Input input{is_standard ? "standard input" : path, {}, {}};
  const int descriptor =
      is_standard ? STDIN_FILENO : open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0) {
    input.failure = "cannot be opened: " + error_text(errno);
    return input;
  }
  if (const int error = read_up_to(descriptor, limit + 1, input.bytes); error != 0) {
    input.bytes.clear();
    input.failure = "cannot be read: " + error_text(error);
  }
  if (!is_standard) close(descriptor);
  return input;
}

Input read_ordinary(const std::string& path, std::size_t limit) {
  Input input{path, {}, {}};
  // Without O_NONBLOCK, opening a pipe would wait for its writer.
  const int descriptor =
      open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NOFOLLOW | O_NONBLOCK);
  if (descriptor < 0) {
    input.failure = "cannot be opened: " + error_text(errno);
    return input;
  }
  struct stat status {};
  if (fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode)) {
    input.failure = "is no ordinary file";
  } else if (const int read_error = read_up_to(descriptor, limit + 1, input.bytes);
             read_error != 0) {
    input.bytes.clear();
    input.failure = "cannot be read: " + error_text(read_error);
  }
  close(descriptor);
  return input;
}

Input read_beside(const std::string& beside, const std::string& path,
                  std::size_t limit) {
  namespace fs = std::filesystem;
  const std::size_t slash = beside.find_last_of('/');
  const std::string folder =
      slash == std::string::npos ? std::string() : beside.substr(0, slash + 1);
  Input input{folder + path, {}, {}};
  std::error_code error;
  const fs::path home = fs::canonical(folder.empty() ? "." : folder, error);
  const fs::path file = error ? fs::path() : fs::canonical(input.name, error);
  if (error) {
    input.failure = "cannot be opened: " + error_text(error.value());
    return input;
  }
  const auto [home_end, first_other] =
      std::mismatch(home.begin(), home.end(), file.begin(), file.end());
  if (home_end != home.end()) {
    input.failure = "leads out of the description's folder";
    return input;
  }
  const std::string name = input.name;
  input = read_ordinary(file.string(), limit);  // Without links from here on.
  input.name = name;
  return input;
}

}  // namespace benchproof
