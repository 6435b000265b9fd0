#include "cli/commands/output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <new>
#include <string>
#include <system_error>

#include "core/base/diagnostic.h"

namespace benchproof {
namespace {

/// 0, or what went wrong.
int write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t put = write(descriptor, text.data(), text.size());
    if (put < 0 && errno == EINTR) continue;
    if (put < 0 && (errno == EAGAIN || errno == EWOULDBLOCK)) {
      // Somebody made it not wait; a failure to wait shows in the next try.
      pollfd watched{descriptor, POLLOUT, 0};
      static_cast<void>(poll(&watched, 1, -1));
      continue;
    }
    if (put < 0) return errno;
    text.remove_prefix(static_cast<std::size_t>(put));
  }
  return 0;
}

}  // namespace

void prepare_streams() {
  for (int descriptor = 0; descriptor <= STDERR_FILENO; ++descriptor) {
    // Opened the wrong way round: reading or writing fails, as on a closed one. The
    // lowest free number is taken, which is this one.
    const int direction = descriptor == STDIN_FILENO ? O_WRONLY : O_RDONLY;
    if (fcntl(descriptor, F_GETFD) == -1 && open("/dev/null", direction) != descriptor)
      std::abort();
  }
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);  // A file that may grow no further is an error.
}

bool wants_colour() {
  // A single thread; nothing changes the environment.
  const char* no_colour = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  const bool is_refused = no_colour != nullptr && *no_colour != '\0';
  const bool is_plain = terminal == nullptr || std::string_view(terminal) == "dumb";
  return !is_refused && !is_plain && isatty(STDOUT_FILENO) == 1;
}

std::size_t drawing_columns() {
  constexpr std::size_t kUsual = 80, kLeast = 60, kMost = 100;
  winsize size{};
  const bool is_known = isatty(STDOUT_FILENO) == 1 &&
                        ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
  return is_known ? std::clamp<std::size_t>(size.ws_col, kLeast, kMost) : kUsual;
}

bool wraps_errors() { return isatty(STDERR_FILENO) == 1; }

bool write_result(std::string_view text) {
  const int error = write_all(STDOUT_FILENO, text);
  if (error == 0 || error == EPIPE) return true;
  write_error("benchproof: standard output cannot be written: " +
              std::generic_category().message(error) + "\n");
  return false;
}

int write_last(std::string_view text, int status) {
  return write_result(text) ? status : std::max(status, kExitRefused);
}

std::string exception_text(const std::exception& error) {
  if (dynamic_cast<const std::bad_alloc*>(&error) != nullptr)
    return "there is not enough memory";
  return fmt::format("internal error: {}", printable(error.what()));
}

void write_error(std::string_view text) {
  [[maybe_unused]] const int error = write_all(STDERR_FILENO, text);
}

}  // namespace benchproof
