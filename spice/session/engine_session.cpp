#include "spice/session/engine_session.h"

#include <unistd.h>

#include <filesystem>
#include <stdexcept>
#include <utility>

#include "spice/session/deck_guard.h"
#include "spice/session/worker_process.h"
#include "spice/worker/protocol.h"

namespace benchproof {
namespace {

using Transfer = WorkerProcess::Transfer;

// Where the worker program is installed or built; empty when it is in neither place.
std::string find_worker() {
  std::error_code ignored;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", ignored);
  const auto folder = program.parent_path();
  for (const auto& place : {folder, folder.parent_path() / "libexec"}) {
    const auto worker = place / "benchproof-worker";
    if (access(worker.c_str(), X_OK) == 0) return worker.string();
  }
  return {};
}

std::string without_final_line_feed(std::string text) {
  while (text.ends_with('\n')) text.pop_back();
  return text;
}

}  // namespace

// What one try came to; `may_retry` when another worker could do better.
struct EngineSession::Attempt {
  EngineReply reply;
  bool may_retry = false;
};

EngineSession::EngineSession(EngineOptions options) : options_(std::move(options)) {
  if (options_.deadline <= std::chrono::milliseconds::zero()) {
    throw std::invalid_argument("the engine's deadline must be positive");
  }
}
EngineSession::EngineSession(EngineSession&&) noexcept = default;
EngineSession& EngineSession::operator=(EngineSession&&) noexcept = default;
EngineSession::~EngineSession() = default;

pid_t EngineSession::worker_pid() const {
  return worker_ == nullptr ? 0 : worker_->pid();
}

void EngineSession::start() {
  if (worker_ == nullptr) start_worker();
}

// Empty, or why there is no worker.
std::string EngineSession::start_worker() {
  const std::string path =
      options_.worker_path.empty() ? find_worker() : options_.worker_path;
  if (path.empty()) {
    return "benchproof-worker is neither beside the program nor in ../libexec";
  }
  WorkerProcess::Start started = WorkerProcess::start(path);
  worker_ = std::move(started.worker);
  has_greeted_ = false;
  is_sealed_ = false;
  return started.failure;
}

void EngineSession::finish() {
  if (worker_) worker_->end();
}

EngineReply EngineSession::run(const EngineRequest& request) {
  const auto refused = [](std::string complaint) {
    return EngineReply{EngineStatus::not_solved, {}, std::move(complaint), false};
  };
  for (const std::string& name : request.vectors) {
    if (std::string complaint = vector_complaint(name); !complaint.empty()) {
      return refused(std::move(complaint));
    }
  }
  GuardedDeck guarded = guard_deck(request.deck);
  if (!guarded.complaint.empty()) return refused(std::move(guarded.complaint));
  const std::string frame = wire::encode(wire::Request{
      wire::Analysis::operating_point, std::move(guarded.lines), request.vectors});
  if (frame.size() > wire::kHeaderBytes + wire::kMaxPayloadBytes) {
    return refused("the deck takes " + std::to_string(frame.size()) + " bytes, above " +
                   std::to_string(wire::kMaxPayloadBytes));
  }
  const auto deadline = std::chrono::steady_clock::now() + options_.deadline;
  Attempt result = attempt(frame, request.vectors.size(), deadline);
  if (result.may_retry) result = attempt(frame, request.vectors.size(), deadline);
  return std::move(result.reply);
}

// Ends the worker after it has gone or sent nonsense.
EngineSession::Attempt EngineSession::lose_worker(const std::string& because) {
  const WorkerProcess::Ending ending = worker_->stop();
  worker_.reset();
  const std::string text =
      because.empty() ? "the engine's worker " + ending.text : because;
  // Before its hello a worker has not seen the circuit: that it cannot be had is the
  // news.
  const auto status =
      has_greeted_ ? EngineStatus::worker_lost : EngineStatus::unavailable;
  return {{status, {}, text, false}, !ending.is_seal_breach};
}

EngineSession::Attempt EngineSession::attempt(
    const std::string& frame, std::size_t values,
    std::chrono::steady_clock::time_point deadline) {
  if (worker_ == nullptr) {
    if (std::string failure = start_worker(); !failure.empty()) {
      return {{EngineStatus::unavailable, {}, std::move(failure), false}, false};
    }
  }
  const auto fail = [this](Transfer transfer) -> Attempt {
    if (transfer == Transfer::timed_out) {
      worker_.reset();
      return {{EngineStatus::timed_out,
               {},
               "no answer within " + std::to_string(options_.deadline.count()) + " ms",
               false},
              false};
    }
    return lose_worker(transfer == Transfer::garbled
                           ? "the engine's worker sent what is not an answer"
                           : "");
  };
  std::string payload;
  if (!has_greeted_) {
    const Transfer transfer =
        worker_->receive(wire::FrameKind::hello, payload, deadline);
    if (transfer != Transfer::done) return fail(transfer);
    const auto hello = wire::decode_hello(payload);
    if (!hello) return fail(Transfer::garbled);
    if (!hello->is_engine_ready || !(hello->is_sealed || options_.allow_unsealed)) {
      worker_.reset();
      lacks_seal_ = hello->is_engine_ready;
      const auto status =
          lacks_seal_ ? EngineStatus::unsealed : EngineStatus::unavailable;
      return {{status, {}, without_final_line_feed(hello->detail), false}, false};
    }
    has_greeted_ = true;
    is_sealed_ = hello->is_sealed;
  }
  Transfer transfer = worker_->send(frame, deadline);
  if (transfer == Transfer::done) {
    transfer = worker_->receive(wire::FrameKind::reply, payload, deadline);
  }
  if (transfer != Transfer::done) return fail(transfer);
  auto reply = wire::decode_reply(payload);
  const bool is_solved = reply && reply->outcome == wire::Outcome::solved;
  if (!reply || reply->values.size() != (is_solved ? values : 0)) {
    return fail(Transfer::garbled);
  }
  if (reply->outcome == wire::Outcome::leaving ||
      reply->heap_bytes > options_.max_heap_bytes) {
    worker_.reset();
  }
  return {{is_solved ? EngineStatus::solved : EngineStatus::not_solved,
           std::move(reply->values), without_final_line_feed(std::move(reply->message)),
           is_sealed_},
          false};
}

}  // namespace benchproof
