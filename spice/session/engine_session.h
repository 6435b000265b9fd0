#pragma once

#include <sys/types.h>

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <vector>

namespace benchproof {

class WorkerProcess;

struct EngineRequest {
  std::vector<std::string> deck;  ///< Lines: title first, ".end" last; see guard_deck.
  std::vector<std::string>
      vectors;  ///< Results wanted: "n3", "v2#branch", "@r1[i]" ...
};

enum class EngineStatus {
  solved,
  not_solved,  ///< The deck was refused, or the engine ran and failed: it did not
               ///< understand the deck, did not converge, or a vector is missing or not
               ///< finite.
  timed_out,   ///< No answer within the deadline; that worker was ended.
  worker_lost,  ///< Two workers crashed or were killed over it, or one broke its seal.
  unsealed,     ///< The seal cannot be set on this machine, and that was not allowed.
  unavailable   ///< No worker can be started.
};

struct EngineReply {
  EngineStatus status = EngineStatus::unavailable;
  std::vector<double> values;  ///< In the order of `vectors`, SI; empty unless solved.
  std::string message;         ///< What the engine complained of, or what went wrong.
  bool is_sealed = false;  ///< False: no worker answered, or it ran without its seal.
};

struct EngineOptions {
  /// The worker program; empty: `benchproof-worker` beside the running program, then in
  /// ../libexec from there.
  std::string worker_path;
  /// For one request with everything it takes, a start and a second try included. > 0.
  std::chrono::milliseconds deadline{10'000};
  /// Go on where the system call filter cannot be loaded; the caller tells the user.
  bool allow_unsealed = false;
  /// A worker whose heap has grown beyond this is replaced before the next request.
  std::uint64_t max_heap_bytes = 64U << 20U;
};

/// The engine, in a sealed process of its own that is started, bounded in time and
/// replaced from here.
///
/// A worker that is lost over a request is replaced and the request tried once more;
/// one that exceeds the deadline is ended and not tried again. Either way the next
/// request finds a fresh worker. Nothing is left behind: no process, no descriptor, no
/// folder.
///
/// For one thread at a time. A worker dies with the thread that started it, so that it
/// cannot outlive its user; let the thread that calls `start` or the first `run` live
/// on.
class EngineSession {
 public:
  /// @throws std::invalid_argument on a deadline that is not positive.
  explicit EngineSession(EngineOptions options = {});
  EngineSession(EngineSession&&) noexcept;
  EngineSession& operator=(EngineSession&&) noexcept;
  ~EngineSession();

  /// Begins to start a worker if there is none and returns at once, so that the caller
  /// can do other work meanwhile. A failure is told by the next `run`.
  void start();

  /// Says that no further request will come: the worker ends while the caller goes on
  /// with other work. A later `run` is answered all the same, by a new worker.
  void finish();

  /// Finds the operating point of one circuit.
  [[nodiscard]] EngineReply run(const EngineRequest& request);

  /// Whether the worker that answered last runs without its seal.
  [[nodiscard]] bool is_unsealed() const { return has_greeted_ && !is_sealed_; }

  /// Whether a worker was turned away because it could not be sealed.
  [[nodiscard]] bool lacks_seal() const { return lacks_seal_; }

  /// The worker's process id, or 0 when there is none at present.
  [[nodiscard]] pid_t worker_pid() const;

 private:
  struct Attempt;

  std::string start_worker();
  Attempt attempt(const std::string& frame, std::size_t values,
                  std::chrono::steady_clock::time_point deadline);
  Attempt lose_worker(const std::string& because);

  EngineOptions options_;
  std::unique_ptr<WorkerProcess> worker_;
  bool has_greeted_ = false;  ///< The present worker's hello has been read.
  bool is_sealed_ = false;    ///< What that hello said.
  bool lacks_seal_ = false;   ///< A hello said that there is no seal.
};

}  // namespace benchproof
