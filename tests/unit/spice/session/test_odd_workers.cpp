// What the session makes of workers that misbehave, each played by odd_worker.cpp.
#include <catch2/catch.hpp>
#include <filesystem>

#include "scratch.h"
#include "spice/session/engine_session.h"
#include "spice/session/witness.h"
#include "tests/truth/hand_network.h"

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

// One vector besides the time: the odd worker's one value and the five that it
// promises are three points, at 1 s, 3 s and 5 s.
EngineRequest waveform() {
  EngineRequest request{scratch::divider_deck(), {"n1"}};
  request.deck.insert(request.deck.end() - 1, ".tran 1e-9 5 0 0.1");
  request.analysis = benchproof::wire::Analysis::transient;
  request.span = 5.0;
  return request;
}

// Two values of a circuit with this resistance.
EngineRequest with_ohms(const std::string& ohms) {
  EngineRequest request = two_values();
  for (std::string& line : request.deck) {
    if (line.starts_with("r1 ")) line = "r1 n1 n2 " + ohms;
  }
  return request;
}

EngineReply answer_of(const std::string& mode,
                      const EngineRequest& request = two_values()) {
  const OddWorker odd(mode);
  EngineSession session(odd.options());
  return session.run(request);
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
    options.deadline = std::chrono::milliseconds(100);
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

TEST_CASE("a waveform in several frames is put together", "[engine][session]") {
  const EngineReply reply = answer_of("goes-on", waveform());
  CHECK(reply.status == EngineStatus::solved);
  CHECK(reply.values == std::vector<double>{1.0, 2.0, 3.0, 4.0, 5.0, 6.0});
}

TEST_CASE("a waveform that is not what was asked for is no answer",
          "[engine][session]") {
  for (const char* mode :
       {"overflows", "promises-no-end", "promises-half-a-point", "fails-with-values"}) {
    CAPTURE(mode);
    const EngineReply reply = answer_of(mode, waveform());
    CHECK(reply.status == EngineStatus::worker_lost);
    CHECK(reply.values.empty());
    CHECK(reply.message == "the engine's worker sent what is not an answer");
  }
  // At rest nothing may follow.
  CHECK(answer_of("goes-on").status == EngineStatus::worker_lost);
  const EngineReply gone = answer_of("breaks-off", waveform());
  CHECK(gone.status == EngineStatus::worker_lost);
  CHECK(gone.message == "the engine's worker ended with status 9");
}

TEST_CASE("a waveform has finite values, and times that rise to the span",
          "[engine][session]") {
  for (const char* mode : {"goes-back", "goes-nowhere", "is-endless"}) {
    CAPTURE(mode);
    const EngineReply reply = answer_of(mode, waveform());
    CHECK(reply.status == EngineStatus::worker_lost);
    CHECK(reply.message == "the engine's worker sent what is not an answer");
  }
  EngineRequest longer = waveform();
  longer.span = 6.0;
  longer.deck[longer.deck.size() - 2] = ".tran 1e-9 6 0 0.1";
  CHECK(answer_of("goes-on", longer).status == EngineStatus::worker_lost);
  CHECK(answer_of("knows-nothing").status == EngineStatus::worker_lost);
}

TEST_CASE("a waveform that stops midway is waited for until the deadline",
          "[engine][session]") {
  const OddWorker odd("falls-silent");
  EngineOptions options = odd.options();
  options.deadline = std::chrono::milliseconds(100);
  EngineSession session(options);
  const EngineReply reply = session.run(waveform());
  CHECK(reply.status == EngineStatus::timed_out);
  CHECK(reply.values.empty());
  CHECK(session.worker_pid() == 0);
}

TEST_CASE("a worker that is not fit for use is waited for once", "[engine][session]") {
  struct Case {
    const char* mode;
    EngineStatus status;
  };
  const auto [mode, status] = GENERATE(values<Case>({
      {"says-nothing", EngineStatus::timed_out},
      {"says-nonsense", EngineStatus::unavailable},
      {"exits-at-once", EngineStatus::unavailable},
      {"cannot-start", EngineStatus::unavailable},
      {"has-no-seal", EngineStatus::unsealed},
  }));
  CAPTURE(mode);
  const OddWorker odd(mode);
  EngineOptions options = odd.options();
  options.deadline = std::chrono::milliseconds(300);
  EngineSession session(options);
  const EngineReply first = session.run(two_values());
  CHECK(first.status == status);
  const auto begin = std::chrono::steady_clock::now();
  for (int k = 0; k < 10; ++k) {
    const EngineReply again = session.run(waveform());
    CHECK(again.status == first.status);
    CHECK(again.message == first.message);
    CHECK(session.worker_pid() == 0);
  }
  // Below one more wait.
  CHECK(std::chrono::steady_clock::now() - begin < options.deadline);
  CHECK(session.lacks_seal() == (status == EngineStatus::unsealed));
}

TEST_CASE("a worker that greeted may hang and be replaced", "[engine][session]") {
  const OddWorker odd("stops-midway");
  EngineOptions options = odd.options();
  options.deadline = std::chrono::milliseconds(100);
  EngineSession session(options);
  for (int k = 0; k < 2; ++k) {
    const auto begin = std::chrono::steady_clock::now();
    CHECK(session.run(two_values()).status == EngineStatus::timed_out);
    CHECK(std::chrono::steady_clock::now() - begin >= 100ms);
  }
}

TEST_CASE("a session's requests share a budget", "[engine][session]") {
  const OddWorker odd("stops-midway");
  EngineOptions options = odd.options();
  options.deadline = std::chrono::milliseconds(200);
  options.budget = std::chrono::milliseconds(300);
  EngineSession session(options);
  const std::string used_up =
      "the engine's time is used up: 300 ms for all circuits together";
  const auto begin = std::chrono::steady_clock::now();
  CHECK(session.run(two_values()).message == "no answer within 200 ms");
  CHECK(session.run(two_values()).message == used_up);
  const auto took = std::chrono::steady_clock::now() - begin;
  CHECK(took >= 300ms);
  const EngineReply reply = session.run(two_values());
  CHECK(reply.status == EngineStatus::timed_out);
  CHECK(reply.message == used_up);
  CHECK(std::chrono::steady_clock::now() - begin - took < 100ms);
}

TEST_CASE("a worker that holds a circuit is sent what is new of it",
          "[engine][session]") {
  const OddWorker odd("holds");
  EngineSession session(odd.options());
  // Lines sent, and changes.
  using Sent = std::vector<double>;
  const auto sent = [&session](const EngineRequest& request) {
    return session.run(request).values;
  };
  const Sent whole{5.0, 0.0};
  CHECK(sent(with_ohms("1000")) == whole);
  CHECK(sent(with_ohms("1200")) == Sent{0.0, 1.0});
  CHECK(sent(with_ohms("1200")) == Sent{0.0, 0.0});
  CHECK(sent(with_ohms("1000")) == Sent{0.0, 1.0});
  CHECK(sent(with_ohms("1k")) == whole);  // no number of a deck of ours
  CHECK(sent(with_ohms("1000")) == Sent{0.0, 1.0});
  // What the guard refuses is not sent, and changes nothing.
  CHECK(sent(with_ohms("`date`")).empty());
  EngineRequest refused = with_ohms("1000");
  refused.vectors = {"n1+n2"};
  CHECK(sent(refused).empty());
  CHECK(sent(with_ohms("1200")) == Sent{0.0, 1.0});
  // A transient is loaded, and what comes after it.
  CHECK(sent(waveform()) == Sent{0.0, 6.0, 5.0, 6.0});
  CHECK(sent(with_ohms("1200")) == whole);
  // Another worker holds nothing.
  CHECK(sent(with_ohms("1000")) == Sent{0.0, 1.0});
  session.finish();
  CHECK(sent(with_ohms("1200")) == whole);
  EngineSession moved(std::move(session));
  CHECK(moved.run(with_ohms("1000")).values == Sent{0.0, 1.0});
}

TEST_CASE("a circuit whose changes cost a worker is sent whole to the next",
          "[engine][session]") {
  const OddWorker odd("holds-and-dies");
  EngineSession session(odd.options());
  for (const char* ohms : {"1000", "1200", "1500"}) {
    const EngineReply reply = session.run(with_ohms(ohms));
    CAPTURE(ohms, reply.message);
    CHECK(reply.status == EngineStatus::solved);
    CHECK(reply.values == std::vector<double>{5.0, 0.0});
  }
}

TEST_CASE("a circuit is held only where it was solved at rest", "[engine][session]") {
  CHECK(answer_of("holds-what-failed").status == EngineStatus::worker_lost);
  CHECK(answer_of("holds-in-time", waveform()).status == EngineStatus::worker_lost);
}

TEST_CASE("the rest before a run is asked for once, whatever else is asked of the run",
          "[engine][session]") {
  // 1 A through 1 ohm: the odd worker's 1 V is right.
  benchproof::test::HandNetwork h(2);
  h.current_source(1, 0, 1.0);
  h.resistor(1, 0, 1.0);
  benchproof::Timeline timeline;
  timeline.network = h.network();
  timeline.span = 1.0;
  const OddWorker odd("settles-once");
  EngineSession session(odd.options());
  const benchproof::SolveInTime witness = engine_in_time(session);
  using benchproof::SolveStatus;
  CHECK(witness(timeline, {}, 0).status == SolveStatus::solved);
  CHECK(witness(timeline, {0.5}, 0).status == SolveStatus::solved);
  CHECK(witness(timeline, {}, 1).status == SolveStatus::solved);
  // A first question begins anew, also where the timeline has come to lie at the place
  // of another; and the start of one is not that of another.
  const benchproof::Timeline other = timeline;
  CHECK(witness(other, {0.5}, 1).status == SolveStatus::engine_failed);
  CHECK(witness(timeline, {}, 0).status == SolveStatus::engine_failed);
}
