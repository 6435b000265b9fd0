#include "program.h"

#include <fcntl.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <iterator>
#include <stdexcept>

namespace benchproof {

const std::string& bin_dir() {
  static const std::string kFolder = [] {
    const char* other = std::getenv("BENCHPROOF_BIN_DIR");
    return std::string(other != nullptr ? other : BENCHPROOF_BIN_DIR);
  }();
  return kFolder;
}

std::size_t sanitized_step() {
  const char* step = std::getenv("BENCHPROOF_STEP");
  return step != nullptr ? std::stoul(step) : 1;
}

std::size_t one_in(std::size_t otherwise) {
  const char* asked = std::getenv("BENCHPROOF_ONE_IN");
  return asked != nullptr && !is_sanitized() ? std::stoul(asked) : otherwise;
}

namespace {

/// A file without a name, with a text in it, at its start.
int anonymous_file(const std::string& text = {}) {
  std::string path = "/tmp/benchproof-test-XXXXXX";
  const int file = mkstemp(path.data());
  if (file < 0) throw std::runtime_error("no temporary file");
  unlink(path.c_str());
  if (write(file, text.data(), text.size()) != static_cast<ssize_t>(text.size())) {
    close(file);
    throw std::runtime_error("the temporary file is too small");
  }
  lseek(file, 0, SEEK_SET);
  return file;
}

/// Reads up to the end; a terminal's end is an error.
std::string read_rest(int file) {
  std::string text;
  std::array<char, 4096> buffer{};
  for (ssize_t got = 0; (got = read(file, buffer.data(), buffer.size())) > 0;)
    text.append(buffer.data(), static_cast<std::size_t>(got));
  return text;
}

/// A terminal that is read at `reader` and written to at `writer`.
struct Terminal {
  int reader = -1;
  int writer = -1;
};

Terminal new_terminal() {
  Terminal terminal;
  terminal.reader = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
  if (terminal.reader < 0 || grantpt(terminal.reader) != 0 ||
      unlockpt(terminal.reader) != 0)
    throw std::runtime_error("no terminal");
  terminal.writer = open(ptsname(terminal.reader), O_RDWR | O_NOCTTY);
  return terminal;
}

/// Plays a machine that refuses system call filters, with a filter of its own that the
/// program and its worker inherit: seccomp(2), prctl(2).
bool refuse_filters() {
  constexpr auto kCall = static_cast<std::uint32_t>(offsetof(seccomp_data, nr));
  constexpr auto kArgument =
      static_cast<std::uint32_t>(offsetof(seccomp_data, args[0]));
  sock_filter rules[] = {
      BPF_STMT(BPF_LD | BPF_W | BPF_ABS, kCall),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_seccomp, 3, 0),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_prctl, 0, 3),
      BPF_STMT(BPF_LD | BPF_W | BPF_ABS, kArgument),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, PR_SET_SECCOMP, 0, 1),
      BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | EPERM),
      BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
  };
  const sock_fprog filter{std::size(rules), rules};
  return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
         prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &filter) == 0;
}

/// Gives this process a view of its own of the files, in which /tmp is read-only:
/// unshare(2), mount(2).
bool shut_tmp() {
  const bool has_own_view =
      unshare(CLONE_NEWNS) == 0 || unshare(CLONE_NEWUSER | CLONE_NEWNS) == 0;
  return has_own_view &&
         mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) == 0 &&
         mount("/tmp", "/tmp", nullptr, MS_BIND | MS_REC, nullptr) == 0 &&
         mount("none", "/tmp", nullptr, MS_REMOUNT | MS_BIND | MS_RDONLY, nullptr) == 0;
}

[[noreturn]] void become_program(const std::vector<std::string>& arguments,
                                 const RunOptions& options) {
  const std::string program =
      options.program.empty() ? bin_dir() + "/benchproof" : options.program;
  std::vector<char*> words{const_cast<char*>(program.c_str())};
  for (const std::string& argument : arguments)
    words.push_back(const_cast<char*>(argument.c_str()));
  words.push_back(nullptr);
  std::vector<std::string> variables{"PATH=/usr/bin:/bin", "TERM=xterm"};
  // Where lines are counted, a program that a test kills may leave half a count behind,
  // of which the next one would complain among its own errors.
  if (is_sanitized()) variables.emplace_back("GCOV_ERROR_FILE=/dev/null");
  for (const auto& [name, value] : options.environment)
    variables.push_back(name + "=" + value);
  std::vector<char*> environment;
  for (std::string& variable : variables) environment.push_back(variable.data());
  environment.push_back(nullptr);
  for (const int descriptor : options.closed) close(descriptor);
  if (options.filters_refused && !refuse_filters()) _exit(126);
  if (options.tmp_read_only && !shut_tmp()) _exit(kNoSuchMachine);
  if (options.descriptors >= 0) {
    const auto most = static_cast<rlim_t>(options.descriptors);
    const rlimit both{most, most};
    if (setrlimit(RLIMIT_NOFILE, &both) != 0) _exit(kNoSuchMachine);
  }
  if (chdir(BENCHPROOF_SOURCE_DIR) == 0)
    execve(program.c_str(), words.data(), environment.data());
  _exit(127);
}

}  // namespace

Ran run_program(const std::vector<std::string>& arguments, const RunOptions& options) {
  const int in = anonymous_file(options.input);
  Terminal terminal;
  if (options.on_terminal || options.errors_on_terminal) terminal = new_terminal();
  int out = -1;
  if (options.on_terminal) {
    out = terminal.writer;
  } else if (!options.output_path.empty()) {
    out = open(options.output_path.c_str(), O_WRONLY);
  } else {
    out = anonymous_file();
  }
  const int err = options.errors_on_terminal ? terminal.writer : anonymous_file();
  const pid_t child = fork();
  if (child == 0) {
    dup2(in, 0);
    dup2(out, 1);
    dup2(err, 2);
    for (const int file : {in, out, err}) close(file);
    become_program(arguments, options);
  }
  if (child < 0) throw std::runtime_error("no process");
  std::string shown;
  if (terminal.reader >= 0) {
    close(terminal.writer);
    shown = read_rest(terminal.reader);
    close(terminal.reader);
  }
  Ran ran;
  int status = 0;
  waitpid(child, &status, 0);
  ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  const auto take = [&terminal, &shown](int file) {
    if (file == terminal.writer) return shown;
    lseek(file, 0, SEEK_SET);
    std::string text = read_rest(file);
    close(file);
    return text;
  };
  ran.out = take(out);
  ran.err = take(err);
  close(in);
  return ran;
}

}  // namespace benchproof
