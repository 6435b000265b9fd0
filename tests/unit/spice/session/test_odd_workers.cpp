// What the session makes of workers that misbehave, each played by odd_worker.cpp.
#include <catch2/catch.hpp>
#include <filesystem>

#include "scratch.h"
#include "spice/session/engine_session.h"

namespace {

using benchproof::EngineOptions;
using benchproof::EngineReply;
using benchproof::EngineRequest;
using benchproof::EngineSession;
using benchproof::EngineStatus;
using namespace std::chrono_literals;

// The odd worker under the name of what it does.
struct OddWorker {
  explicit OddWorker(const std::string& mode) : program(folder.path() / mode) {
    std::filesystem::create_symlink(BENCHPROOF_ODD_WORKER, program);
  }
  [[nodiscard]] EngineOptions options() const {
    EngineOptions options;
    options.worker_path = program;
    options.deadline = 2s;
    return options;
  }
  scratch::Folder folder;
  std::filesystem::path program;
};

EngineRequest two_values() { return {scratch::divider_deck(), {"n1", "n2"}}; }

EngineReply answer_of(const std::string& mode) {
  const OddWorker odd(mode);
  EngineSession session(odd.options());
  return session.run(two_values());
}

}  // namespace

TEST_CASE("the odd worker behaves well under another name", "[engine][session]") {
  const EngineReply reply = answer_of("behaves");
  CHECK(reply.status == EngineStatus::solved);
  CHECK(reply.values == std::vector<double>{1.0, 1.0});
  CHECK(reply.is_sealed);
}

TEST_CASE("a worker that cannot start makes the engine unavailable",
          "[engine][session]") {
  const EngineReply gone = answer_of("exits-at-once");
  CHECK(gone.status == EngineStatus::unavailable);
  CHECK(gone.message == "the engine's worker ended with status 7");
  const EngineReply failed = answer_of("cannot-start");
  CHECK(failed.status == EngineStatus::unavailable);
  CHECK(failed.message == "no engine here");
}

TEST_CASE("a worker that greets with nonsense is unavailable", "[engine][session]") {
  for (const char* mode : {"says-nonsense", "promises-too-much", "replies-first"}) {
    CAPTURE(mode);
    const EngineReply reply = answer_of(mode);
    CHECK(reply.status == EngineStatus::unavailable);
    CHECK(reply.message == "the engine's worker sent what is not an answer");
  }
}

TEST_CASE("an answer that does not fit the question is no answer",
          "[engine][session]") {
  for (const char* mode : {"answers-too-little", "fails-with-values"}) {
    CAPTURE(mode);
    const EngineReply reply = answer_of(mode);
    CHECK(reply.status == EngineStatus::worker_lost);
    CHECK(reply.values.empty());
    CHECK(reply.message == "the engine's worker sent what is not an answer");
  }
}

TEST_CASE("a circuit that costs two workers is reported", "[engine][session]") {
  const EngineReply reply = answer_of("dies-of-it");
  CHECK(reply.status == EngineStatus::worker_lost);
  CHECK(reply.message == "the engine's worker ended with status 9");
}

TEST_CASE("a worker that falls silent is ended at the deadline", "[engine][session]") {
  for (const char* mode : {"says-nothing", "stops-midway"}) {
    CAPTURE(mode);
    const OddWorker odd(mode);
    EngineOptions options = odd.options();
    options.deadline = 100ms;
    EngineSession session(options);
    const auto begin = std::chrono::steady_clock::now();
    const EngineReply reply = session.run(two_values());
    const auto took = std::chrono::steady_clock::now() - begin;
    CHECK(reply.status == EngineStatus::timed_out);
    CHECK(reply.message == "no answer within 100 ms");
    CHECK(took >= 100ms);
    CHECK(took < 2s);  // far above any scheduling delay, far below a second try
    CHECK(session.worker_pid() == 0);
    CHECK_FALSE(scratch::has_children());
  }
}

TEST_CASE("a worker without its seal is used only on request", "[engine][session]") {
  const OddWorker odd("has-no-seal");
  EngineSession strict(odd.options());
  const EngineReply refused = strict.run(two_values());
  CHECK(refused.status == EngineStatus::unsealed);
  CHECK(refused.message == "no filter");
  CHECK(strict.worker_pid() == 0);

  EngineOptions lenient = odd.options();
  lenient.allow_unsealed = true;
  const EngineReply reply = EngineSession(lenient).run(two_values());
  CHECK(reply.status == EngineStatus::solved);
  CHECK_FALSE(reply.is_sealed);
}

TEST_CASE("a worker that has grown is replaced", "[engine][session]") {
  const OddWorker odd("grows");
  EngineSession session(odd.options());
  CHECK(session.run(two_values()).status == EngineStatus::solved);
  CHECK(session.worker_pid() == 0);
  CHECK(session.run(two_values()).status == EngineStatus::solved);

  const OddWorker steady("behaves");
  EngineSession other(steady.options());
  CHECK(other.run(two_values()).status == EngineStatus::solved);
  CHECK(other.worker_pid() != 0);
}
