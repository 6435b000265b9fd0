#pragma once

#include <sys/types.h>

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "spice/worker/protocol.h"

namespace benchproof {

class WorkerProcess;

struct EngineRequest {
  std::vector<std::string> deck;  ///< Lines: title first, ".end" last; see guard_deck.
  std::vector<std::string>
      vectors;  ///< Results wanted: "n3", "v2#branch", "@r1[i]" ...
  wire::Analysis analysis = wire::Analysis::operating_point;
  double span = 0.0;  ///< Of a transient, as in the deck's .tran. Second.
  /// Time for this request where that is less than the session's deadline.
  std::chrono::milliseconds at_most = std::chrono::hours(24);
};

enum class EngineStatus {
  solved,
  not_solved,  ///< The deck was refused, or the engine ran and failed: it did not
               ///< understand the deck, did not converge, or a vector is missing or not
               ///< finite.
  too_large,   ///< The deck is above wire::kMaxPayloadBytes, or a transient was
               ///< stopped at wire::kMaxValues.
  timed_out,   ///< No answer within the deadline; that worker was ended.
  worker_lost,  ///< Two workers crashed or were killed over it, or one broke its seal.
  unsealed,     ///< The seal cannot be set on this machine, and that was not allowed.
  unavailable   ///< No worker can be started.
};

struct EngineReply {
  EngineStatus status = EngineStatus::unavailable;
  /// In the order of `vectors`, SI; of a transient point after point, each its time and
  /// then these. Empty unless solved.
  std::vector<double> values;
  double reached = 0.0;    ///< How far a transient came. Second.
  std::string message;     ///< What the engine complained of, or what went wrong.
  bool is_sealed = false;  ///< False: no worker answered, or it ran without its seal.
};

struct EngineOptions {
  /// The worker program; empty: that of `default_worker`.
  std::string worker_path;
  /// For one request with everything it takes, a start and a second try included. > 0.
  std::chrono::milliseconds deadline{10'000};
  /// For all requests of the session together. > 0.
  std::chrono::milliseconds budget = std::chrono::hours(24);
  /// Go on where the system call filter cannot be loaded; the caller tells the user.
  bool allow_unsealed = false;
  /// A worker whose heap has grown beyond this is replaced before the next request.
  std::uint64_t max_heap_bytes = 64U << 20U;
};

/// Path of the program `benchproof-worker`: beside the running program, as it is built,
/// or where it is installed as seen from there (../libexec). Empty when it stands in
/// neither place.
[[nodiscard]] std::string default_worker();

/// The engine, in a sealed process of its own that is started, bounded in time and
/// replaced from here.
///
/// A worker that is lost over a request is replaced and the request tried once more;
/// one that exceeds the deadline is ended and not tried again. Either way the next
/// request finds a fresh worker; but where a worker was started and did not become fit
/// for use (it did not greet, has no engine or no seal), all further requests fail at
/// once with the same answer. Nothing is left behind: no process, no descriptor, no
/// folder.
///
/// For one thread at a time. A worker dies with the thread that started it, so that it
/// cannot outlive its user; let the thread that calls `start` or the first `run` live
/// on.
class EngineSession {
 public:
  /// @throws std::invalid_argument on a deadline or a budget that is not positive.
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

  [[nodiscard]] std::chrono::milliseconds deadline() const { return options_.deadline; }
  [[nodiscard]] const EngineOptions& options() const { return options_; }

  /// Has one circuit analysed. Where it differs from the last one, which was solved at
  /// rest, by nothing but numbers of resistors and sources, the worker is sent these
  /// alone: a third of the time, and the same answer to the last bit.
  [[nodiscard]] EngineReply run(const EngineRequest& request);

  /// Whether the worker that answered last runs without its seal.
  [[nodiscard]] bool is_unsealed() const { return has_greeted_ && !is_sealed_; }

  /// Whether a worker was turned away because it could not be sealed.
  [[nodiscard]] bool lacks_seal() const { return lacks_seal_; }

  /// The worker's process id, or 0 when there is none at present.
  [[nodiscard]] pid_t worker_pid() const;

 private:
  struct Attempt;
  using Deadline = std::chrono::steady_clock::time_point;

  std::string start_worker();
  EngineReply run_by(const EngineRequest& request, Deadline deadline);
  Attempt attempt(const wire::Request& whole, const std::string& frame,
                  Deadline deadline, std::chrono::milliseconds at_most);
  [[nodiscard]] std::string only_changes(const wire::Request& whole) const;
  [[nodiscard]] EngineReply told(wire::Reply reply, std::size_t vectors) const;
  Attempt lose_worker(const std::string& because);

  EngineOptions options_;
  std::unique_ptr<WorkerProcess> worker_;
  bool has_greeted_ = false;          ///< The present worker's hello has been read.
  bool is_sealed_ = false;            ///< What that hello said.
  std::vector<std::string> held_;     ///< The deck whose circuit it holds, if it does.
  bool lacks_seal_ = false;           ///< A hello said that there is no seal.
  std::optional<EngineReply> unfit_;  ///< The answer once no worker is fit for use.
  std::chrono::steady_clock::duration used_{};  ///< By requests so far.
};

}  // namespace benchproof
