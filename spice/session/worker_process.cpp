#include "spice/session/detail/worker_process.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <utility>

namespace benchproof {
namespace {

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) close(number_);
  }
  [[nodiscard]] int get() const { return number_; }
  int release() { return std::exchange(number_, -1); }

 private:
  int number_;
};

std::string failure(const std::string& what, int error) {
  return what + ": " + std::strerror(error);
}

// Opens a fresh empty folder that has no name any more, below $TMPDIR or, where none
// can be made there, /tmp; -1 and a reason on failure.
int open_nameless_folder(std::string& reason) {
  const std::string name = "/benchproof-XXXXXX";
  const char* place = std::getenv("TMPDIR");
  std::string path = (place != nullptr ? place : "") + name;
  const bool is_made =
      place != nullptr && *place != '\0' && mkdtemp(path.data()) != nullptr;
  if (!is_made) path = "/tmp" + name;
  if (!is_made && mkdtemp(path.data()) == nullptr) {
    reason = failure("cannot make a temporary folder '" + path + "'", errno) +
             "; TMPDIR may name another place";
    return -1;
  }
  const int folder = open(path.c_str(), O_PATH | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
  const int open_error = errno;
  if (rmdir(path.c_str()) != 0) {
    reason = failure("cannot remove the temporary folder '" + path + "'", errno);
    if (folder >= 0) close(folder);
    return -1;
  }
  if (folder < 0) {
    reason = failure("cannot open the temporary folder '" + path + "'", open_error);
  }
  return folder;
}

// What posix_spawn is to do in the child; `error` is the first failure, or 0.
class SpawnPlan {
 public:
  SpawnPlan(int folder, int socket) {
    note(posix_spawn_file_actions_init(&actions_));
    note(posix_spawnattr_init(&attributes_));
    // The folder first, then the socket: either may stand on a number that is taken
    // next.
    note(posix_spawn_file_actions_addfchdir_np(&actions_, folder));
    note(posix_spawn_file_actions_adddup2(&actions_, socket, wire::kWorkerSocket));
    for (const int standard : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
      note(posix_spawn_file_actions_addopen(&actions_, standard, "/dev/null", O_RDWR,
                                            0));
    }
    sigset_t none;
    sigset_t all;
    sigemptyset(&none);
    sigfillset(&all);
    note(posix_spawnattr_setsigmask(&attributes_, &none));
    note(posix_spawnattr_setsigdefault(&attributes_, &all));
    note(posix_spawnattr_setpgroup(&attributes_, 0));
    note(posix_spawnattr_setflags(&attributes_, POSIX_SPAWN_SETSIGMASK |
                                                    POSIX_SPAWN_SETSIGDEF |
                                                    POSIX_SPAWN_SETPGROUP));
  }
  SpawnPlan(const SpawnPlan&) = delete;
  SpawnPlan& operator=(const SpawnPlan&) = delete;
  ~SpawnPlan() {
    posix_spawnattr_destroy(&attributes_);
    posix_spawn_file_actions_destroy(&actions_);
  }

  int run(pid_t& pid, const std::string& path) {
    if (error_ != 0) return error_;
    std::string parent = std::to_string(getpid());
    std::string program = path;
    // Nothing of the caller's environment goes to the engine. It looks for its start-up
    // files below these paths, where nothing can be, and needs one thread and no time
    // zone.
    std::array<std::string, 6> settings{"HOME=/dev/null", "SPICE_SCRIPTS=/dev/null",
                                        "LC_ALL=C",       "TZ=UTC0",
                                        "PATH=/dev/null", "OMP_NUM_THREADS=1"};
    std::array<char*, 3> arguments{program.data(), parent.data(), nullptr};
    std::array<char*, settings.size() + 1> environment{};
    std::transform(settings.begin(), settings.end(), environment.begin(),
                   [](std::string& setting) { return setting.data(); });
    return posix_spawn(&pid, path.c_str(), &actions_, &attributes_, arguments.data(),
                       environment.data());
  }

 private:
  void note(int result) {
    if (error_ == 0) error_ = result;
  }

  posix_spawn_file_actions_t actions_{};
  posix_spawnattr_t attributes_{};
  int error_ = 0;
};

/// What the seal did not let it do; null if that status tells of nothing.
const char* deed_of(wire::Breach breach) {
  switch (breach) {
    case wire::Breach::program:
      return "start a program or a thread";
    case wire::Breach::connection:
      return "open a connection or a pipe";
    case wire::Breach::process:
      return "reach another process";
  }
  return nullptr;
}

}  // namespace

WorkerProcess::Start WorkerProcess::start(const std::string& path) {
  // The child changes its folder before it looks for the program.
  std::error_code no_folder;
  const std::string program = std::filesystem::absolute(path, no_folder).string();
  if (no_folder) {
    return {nullptr, "cannot resolve '" + path + "': " + no_folder.message()};
  }
  std::string reason;
  const Descriptor folder(open_nameless_folder(reason));
  if (folder.get() < 0) return {nullptr, std::move(reason)};
  std::array<int, 2> pair{};
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, pair.data()) != 0) {
    return {nullptr, failure("cannot make a socket", errno)};
  }
  Descriptor ours(pair[0]);
  const Descriptor theirs(pair[1]);
  pid_t pid = 0;
  if (const int error = SpawnPlan(folder.get(), theirs.get()).run(pid, program);
      error != 0) {
    return {nullptr, failure("cannot start '" + program + "'", error)};
  }
  return {std::unique_ptr<WorkerProcess>(new WorkerProcess(pid, ours.release())), {}};
}

WorkerProcess::~WorkerProcess() {
  if (pid_ != 0) stop();
}

void WorkerProcess::end() const {
  if (pid_ != 0) kill(pid_, SIGKILL);
}

WorkerProcess::Ending WorkerProcess::stop() {
  kill(pid_, SIGKILL);
  stream_.close();
  int status = 0;
  pid_t reaped = 0;
  do {
    reaped = waitpid(pid_, &status, 0);
  } while (reaped < 0 && errno == EINTR);
  pid_ = 0;
  if (reaped < 0) return {"ended in an unknown way", false};
  if (WIFEXITED(status)) {
    const int code = WEXITSTATUS(status);
    if (const char* deed = deed_of(static_cast<wire::Breach>(code)); deed != nullptr)
      return {std::string("was ended by its seal: the engine tried to ") + deed, true};
    return {"ended with status " + std::to_string(code), false};
  }
  const int signal = WTERMSIG(status);
  // The C library blocks signals while it starts a program or a thread.
  if (signal == SIGSYS) {
    return {
        "was ended by its seal: the engine tried to start a program or a thread, or "
        "made a call of another architecture",
        true};
  }
  return {
      "was killed by signal " + std::to_string(signal) + " (" + strsignal(signal) + ")",
      false};
}

}  // namespace benchproof
