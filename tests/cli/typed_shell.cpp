#include "tests/cli/typed_shell.h"

#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <stdexcept>

namespace benchproof {
namespace {

constexpr std::chrono::seconds kPatience(30);

[[noreturn]] void become_shell(const std::vector<std::string>& words,
                               const std::string& home) {
  std::vector<char*> arguments;
  for (const std::string& word : words)
    arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  std::vector<std::string> variables = {"PATH=" + home + ":/usr/bin:/bin",
                                        "HOME=" + home, "TERM=xterm", "LC_ALL=C.UTF-8",
                                        "XDG_CACHE_HOME=" + home};
  std::vector<char*> environment;
  for (std::string& variable : variables) environment.push_back(variable.data());
  environment.push_back(nullptr);
  if (chdir(BENCHPROOF_SOURCE_DIR) == 0)
    execve(arguments.front(), arguments.data(), environment.data());
  _exit(127);
}

}  // namespace

TypedShell::TypedShell(const std::vector<std::string>& words, const std::string& home) {
  const winsize size{40, 400, 0, 0};  // No line is broken.
  process_ = forkpty(&terminal_, nullptr, nullptr, &size);
  if (process_ < 0) throw std::runtime_error("no terminal");
  if (process_ == 0) become_shell(words, home);
}

TypedShell::~TypedShell() {
  close(terminal_);
  kill(process_, SIGKILL);
  waitpid(process_, nullptr, 0);
}

void TypedShell::type(const std::string& keys) const {
  if (write(terminal_, keys.data(), keys.size()) != static_cast<ssize_t>(keys.size()))
    throw std::runtime_error("the terminal takes no more");
}

bool TypedShell::shows(const std::string& text) {
  const auto end = std::chrono::steady_clock::now() + kPatience;
  while (screen_.find(text) == std::string::npos) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
        end - std::chrono::steady_clock::now());
    pollfd waiting{terminal_, POLLIN, 0};
    if (left.count() <= 0 || poll(&waiting, 1, static_cast<int>(left.count())) <= 0)
      return false;
    std::array<char, 4096> buffer{};
    const ssize_t got = read(terminal_, buffer.data(), buffer.size());
    if (got <= 0) return false;
    screen_.append(buffer.data(), static_cast<std::size_t>(got));
  }
  screen_.erase(0, screen_.find(text) + text.size());
  return true;
}

}  // namespace benchproof
