#include "spice/session/engine_session.h"

#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <stdexcept>
#include <utility>

#include "spice/session/detail/deck_changes.h"
#include "spice/session/detail/deck_guard.h"
#include "spice/session/detail/worker_process.h"
#include "spice/worker/protocol.h"

namespace benchproof {
namespace {

using Clock = std::chrono::steady_clock;

std::string without_final_line_feed(std::string text) {
  while (text.ends_with('\n')) text.pop_back();
  return text;
}

std::string milliseconds(std::chrono::milliseconds time) {
  return std::to_string(time.count()) + " ms";
}

EngineReply failed(EngineStatus status, std::string message) {
  return {status, {}, 0.0, std::move(message), false};
}

EngineStatus status_of(wire::Outcome outcome) {
  switch (outcome) {
    case wire::Outcome::solved:
      return EngineStatus::solved;
    case wire::Outcome::too_large:
      return EngineStatus::too_large;
    case wire::Outcome::not_solved:
    case wire::Outcome::leaving:
      break;
  }
  return EngineStatus::not_solved;
}

}  // namespace

std::string default_worker() {
  std::error_code ignored;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", ignored);
  const auto folder = program.parent_path();
  for (const auto& place : {folder, folder / BENCHPROOF_INSTALLED_WORKERS}) {
    const auto worker = (place / "benchproof-worker").lexically_normal();
    if (access(worker.c_str(), X_OK) == 0) return worker.string();
  }
  return {};
}

// What one try came to.
struct EngineSession::Attempt {
  EngineReply reply;
  bool may_retry = false;  // Another worker could do better.
  bool is_unfit = false;   // A worker was started and did not become fit for use.
};

EngineSession::EngineSession(EngineOptions options) : options_(std::move(options)) {
  if (options_.deadline <= std::chrono::milliseconds::zero()) {
    throw std::invalid_argument("the engine's deadline must be positive");
  }
  if (options_.budget <= std::chrono::milliseconds::zero()) {
    throw std::invalid_argument("the engine's budget must be positive");
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
      options_.worker_path.empty() ? default_worker() : options_.worker_path;
  if (path.empty()) {
    return "benchproof-worker is neither beside the program nor in ../libexec";
  }
  WorkerProcess::Start started = WorkerProcess::start(path);
  worker_ = std::move(started.worker);
  has_greeted_ = false;
  is_sealed_ = false;
  held_.clear();
  return started.failure;
}

void EngineSession::finish() {
  if (worker_) worker_->end();
}

EngineReply EngineSession::run(const EngineRequest& request) {
  if (unfit_) return *unfit_;
  const auto begin = Clock::now();
  const Clock::duration left = options_.budget - used_;
  EngineReply reply = failed(EngineStatus::timed_out, {});
  if (left > Clock::duration::zero()) {
    const auto most = std::min(options_.deadline, request.at_most);
    reply = run_by(request, begin + std::min<Clock::duration>(most, left));
  }
  used_ += Clock::now() - begin;
  if (reply.status == EngineStatus::timed_out && used_ >= options_.budget) {
    reply.message = "the engine's time is used up: " + milliseconds(options_.budget) +
                    " for all circuits together";
  }
  return reply;
}

EngineReply EngineSession::run_by(const EngineRequest& request, Deadline deadline) {
  const auto refused = [](std::string complaint) {
    return failed(EngineStatus::not_solved, std::move(complaint));
  };
  for (const std::string& name : request.vectors) {
    if (std::string complaint = vector_complaint(name); !complaint.empty()) {
      return refused(std::move(complaint));
    }
  }
  GuardedDeck guarded = guard_deck(request.deck, request.analysis);
  if (!guarded.complaint.empty()) return refused(std::move(guarded.complaint));
  const wire::Request whole{request.analysis, std::move(guarded.lines), request.vectors,
                            request.span};
  const std::string frame = wire::encode(whole);
  if (frame.size() > wire::kHeaderBytes + wire::kMaxPayloadBytes) {
    return failed(EngineStatus::too_large,
                  "the deck takes " + std::to_string(frame.size()) + " bytes, above " +
                      std::to_string(wire::kMaxPayloadBytes));
  }
  const auto at_most = std::min(options_.deadline, request.at_most);
  Attempt result = attempt(whole, frame, deadline, at_most);
  if (result.may_retry) result = attempt(whole, frame, deadline, at_most);
  if (result.is_unfit) unfit_ = result.reply;
  return std::move(result.reply);
}

// Ends the worker after it has gone or sent nonsense.
EngineSession::Attempt EngineSession::lose_worker(const std::string& because) {
  const WorkerProcess::Ending ending = worker_->stop();
  worker_.reset();
  std::string text = because.empty() ? "the engine's worker " + ending.text : because;
  // Before its hello a worker has not seen the circuit: that it cannot be had is the
  // news.
  const auto status =
      has_greeted_ ? EngineStatus::worker_lost : EngineStatus::unavailable;
  return {failed(status, std::move(text)), !ending.is_seal_breach, !has_greeted_};
}

EngineSession::Attempt EngineSession::attempt(const wire::Request& whole,
                                              const std::string& frame,
                                              Deadline deadline,
                                              std::chrono::milliseconds at_most) {
  if (worker_ == nullptr) {
    if (std::string failure = start_worker(); !failure.empty()) {
      return {failed(EngineStatus::unavailable, std::move(failure)), false, false};
    }
  }
  const auto fail = [&](Transfer transfer) -> Attempt {
    if (transfer == Transfer::timed_out) {
      worker_.reset();
      return {
          failed(EngineStatus::timed_out, "no answer within " + milliseconds(at_most)),
          false, !has_greeted_};
    }
    return lose_worker(transfer == Transfer::garbled
                           ? "the engine's worker sent what is not an answer"
                           : "");
  };
  if (!has_greeted_) {
    std::string payload;
    const Transfer transfer =
        worker_->stream().receive(wire::FrameKind::hello, payload, deadline);
    if (transfer != Transfer::done) return fail(transfer);
    const auto hello = wire::decode_hello(payload);
    if (!hello) return fail(Transfer::garbled);
    if (!hello->is_engine_ready || !(hello->is_sealed || options_.allow_unsealed)) {
      worker_.reset();
      lacks_seal_ = hello->is_engine_ready;
      const auto status =
          lacks_seal_ ? EngineStatus::unsealed : EngineStatus::unavailable;
      return {failed(status, without_final_line_feed(hello->detail)), false, true};
    }
    has_greeted_ = true;
    is_sealed_ = hello->is_sealed;
  }
  wire::Reply reply;
  const std::string news = only_changes(whole);
  const Transfer transfer =
      exchange(worker_->stream(), news.empty() ? frame : news,
               {whole.analysis, whole.vectors.size(), whole.span}, deadline, reply);
  if (transfer != Transfer::done) return fail(transfer);
  held_ = reply.is_held ? whole.deck : std::vector<std::string>();
  if (reply.outcome == wire::Outcome::leaving ||
      reply.heap_bytes > options_.max_heap_bytes) {
    worker_.reset();
  }
  return {told(std::move(reply), whole.vectors.size()), false, false};
}

// The frame that asks for the circuit that the worker holds, with other values; empty
// where that is not all.
std::string EngineSession::only_changes(const wire::Request& whole) const {
  if (whole.analysis != wire::Analysis::operating_point) return {};
  auto changes = changes_between(held_, whole.deck);
  if (!changes) return {};
  return wire::encode(wire::Request{
      whole.analysis, {}, whole.vectors, whole.span, *std::move(changes)});
}

// What a worker's reply is to whoever asked for so many vectors.
EngineReply EngineSession::told(wire::Reply reply, std::size_t vectors) const {
  if (reply.outcome == wire::Outcome::leaving && reply.message.empty())
    reply.message = "the engine asked to leave";
  if (reply.outcome == wire::Outcome::too_large) {
    const std::size_t width = vectors + 1;
    reply.message = "the waveform takes more than " +
                    std::to_string(wire::kMaxValues / width) + " points of " +
                    std::to_string(width) + " figures";
  }
  return {status_of(reply.outcome), std::move(reply.values), reply.reached,
          without_final_line_feed(std::move(reply.message)), is_sealed_};
}

}  // namespace benchproof
