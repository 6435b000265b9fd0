#pragma once

#include <sys/types.h>

#include <memory>
#include <string>

#include "spice/session/detail/frame_stream.h"

namespace benchproof {

/// One running worker and the session's end of its socket. Ends the process, by
/// SIGKILL, and reaps it when destroyed. For one thread at a time; the worker dies with
/// the thread that started it.
class WorkerProcess {
 public:
  /// How a worker ended.
  struct Ending {
    std::string text;             ///< For instance "was killed by signal 9 (Killed)".
    bool is_seal_breach = false;  ///< It tried a call for which the seal ends it.
  };

  /// A worker, or the reason why there is none.
  struct Start {
    std::unique_ptr<WorkerProcess> worker;
    std::string failure;  ///< Empty when started.
  };

  /// Starts the program at `path` and returns without waiting for its hello.
  ///
  /// It gets the socket as descriptor 3, the null device as 0, 1 and 2, an environment
  /// of fixed settings, default signal handling, a process group of its own, and as
  /// working folder one made for it below $TMPDIR (/tmp where that is not set or
  /// takes no folder) and removed before the start: nothing can be found there, put
  /// there or left there.
  [[nodiscard]] static Start start(const std::string& path);

  WorkerProcess(const WorkerProcess&) = delete;
  WorkerProcess& operator=(const WorkerProcess&) = delete;
  ~WorkerProcess();

  [[nodiscard]] FrameStream& stream() { return stream_; }

  /// Kills the process without waiting for its end, which is then nearer when `stop` or
  /// the destructor comes.
  void end() const;

  /// Kills the process if it still runs, and reaps it. Call once at most.
  Ending stop();

  [[nodiscard]] pid_t pid() const { return pid_; }  ///< 0 once stopped.

 private:
  WorkerProcess(pid_t pid, int socket) : pid_(pid), stream_(socket) {}

  pid_t pid_;
  FrameStream stream_;
};

}  // namespace benchproof
