#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <csignal>
#include <filesystem>
#include <limits>
#include <thread>

#include "scratch.h"
#include "spice/session/engine_session.h"

namespace {

using benchproof::EngineOptions;
using benchproof::EngineReply;
using benchproof::EngineRequest;
using benchproof::EngineSession;
using benchproof::EngineStatus;
using Catch::Contains;
using Catch::Matchers::WithinRel;
using namespace std::chrono_literals;

using Lines = std::vector<std::string>;

EngineOptions options() {
  EngineOptions options;
  options.worker_path = scratch::worker_path();
  return options;
}

EngineRequest divider() {
  return {scratch::divider_deck(), {"n2", "n1", "v1#branch", "@r1[i]"}};
}

// LU with pivoting is backward stable: |dx| <= n eps cond(A) |x|, growth aside [Higham
// 2002, "Accuracy and Stability of Numerical Algorithms", sec. 9.3]. n = 3 unknowns,
// and cond(A) is below 1e4 for conductances of 0.3 to 1 mS beside the source's ones.
constexpr double kLinear = 3 * 1e4 * std::numeric_limits<double>::epsilon();

void check_is_divider(const EngineReply& reply) {
  CAPTURE(reply.message);
  REQUIRE(reply.status == EngineStatus::solved);
  REQUIRE(reply.values.size() == 4);
  CHECK_THAT(reply.values[0], WithinRel(7.5, kLinear));
  CHECK_THAT(reply.values[1], WithinRel(10.0, kLinear));
  CHECK_THAT(reply.values[2], WithinRel(-2.5e-3, kLinear));
  CHECK_THAT(reply.values[3], WithinRel(2.5e-3, kLinear));
  CHECK(reply.is_sealed);
}

}  // namespace

TEST_CASE("a divider follows its ratio", "[engine][session][closed-form]") {
  EngineSession session(options());
  check_is_divider(session.run(divider()));
  check_is_divider(session.run(divider()));
}

TEST_CASE("a started session answers as well", "[engine][session]") {
  EngineSession session(options());
  CHECK(session.worker_pid() == 0);
  session.start();
  const pid_t worker = session.worker_pid();
  CHECK(worker != 0);
  session.start();
  CHECK(session.worker_pid() == worker);
  check_is_divider(session.run(divider()));
  CHECK(session.worker_pid() == worker);
}

TEST_CASE("the worker is found beside the running program", "[engine][session]") {
  EngineSession session;
  check_is_divider(session.run(divider()));
}

TEST_CASE("a diode obeys its law", "[engine][session][closed-form]") {
  // I = is (exp(V / (n k T / q)) - 1) + gmin V at T = 300.15 K [Shockley 1949, "The
  // theory of p-n junctions ...", Bell Syst. Tech. J. 28, 435-489], with k / q of
  // CODATA 2014 (1.38064852e-23 / 1.6021766208e-19, from memory), which this engine
  // uses.
  const double volts_thermal = 1.5 * 1.38064852e-23 * 300.15 / 1.6021766208e-19;
  EngineSession session(options());
  for (const char* ohms : {"10", "1k", "100k", "10meg"}) {
    CAPTURE(ohms);
    const EngineReply reply = session.run(
        {{"diode", "v1 n1 0 5", std::string("r1 n1 n2 ") + ohms, "d1 n2 0 junction",
          ".model junction d is=1e-12 n=1.5",
          ".options reltol=1e-9 vntol=1e-12 abstol=1e-18 gmin=1e-15", ".end"},
         {"n2", "v1#branch", "@d1[id]"}});
    CAPTURE(reply.message);
    REQUIRE(reply.status == EngineStatus::solved);
    const double volts = reply.values[0];
    const double amps = 1e-12 * std::expm1(volts / volts_thermal) + 1e-15 * volts;
    // The engine stops when the step in V is below reltol V + vntol: 1e-9 of a volt at
    // most, over V_T = 39 mV: 3e-8 of the current. The branch adds reltol of its own.
    constexpr double kStep = 1e-7;
    CHECK_THAT(reply.values[2], WithinRel(amps, kStep));
    CHECK_THAT(-reply.values[1], WithinRel(amps, kStep));
  }
}

TEST_CASE("what the engine cannot solve is told", "[engine][session]") {
  struct Case {
    const char* what;
    EngineRequest request;
    const char* complaint;
  };
  const auto [what, request, complaint] = GENERATE(values<Case>({
      {"no deck", {{}, {"n1"}}, "does not end in '.end'"},
      {"no circuit", {{"title", ".end"}, {"n1"}}, "holds no element"},
      {"no end", {{"title", "r1 n1 0 1k"}, {"n1"}}, "does not end in '.end'"},
      {"a control block",
       {{"title", "r1 n1 0 1k", ".control", "quit", ".endc", ".end"}, {"n1"}},
       "'.control' is not a card"},
      {"no such node", {scratch::divider_deck(), {"n7"}}, "'n7' is missing"},
      {"no such device", {scratch::divider_deck(), {"@r7[i]"}}, "'@r7[i]' is missing"},
      {"no such figure", {scratch::divider_deck(), {"@r1[q]"}}, "'@r1[q]' is missing"},
      {"an engine constant", {scratch::divider_deck(), {"pi"}}, "'pi' is missing"},
      {"an expression",
       {scratch::divider_deck(), {"n1+n2"}},
       "not the name of a result"},
      {"nonsense", {{"title", "blah foo bar", "q", ".end"}, {"n1"}}, "valid modelname"},
      {"an unknown model",
       {{"title", "v1 n1 0 1", "d1 n1 0 nowhere", ".end"}, {"n1"}},
       "nowhere"},
      {"no solution",
       {{"title", "b1 n1 0 v=v(n1)*v(n1)+1", "r1 n1 0 1", ".end"}, {"n1"}},
       "aborted"},
      {"an infinite result",
       {{"title", "i1 0 n1 1e308", "r1 n1 0 1e308", ".end"}, {"n1"}},
       "'n1' is not finite"},
  }));
  CAPTURE(what);
  EngineSession session(options());
  const EngineReply reply = session.run(request);
  CHECK(reply.status == EngineStatus::not_solved);
  CHECK(reply.values.empty());
  CHECK_THAT(reply.message, Contains(complaint));
  // A failure must not colour what follows, in the same worker or a new one.
  check_is_divider(session.run(divider()));
}

TEST_CASE("a result of the circuit before is not taken for this one's",
          "[engine][session]") {
  EngineSession session(options());
  check_is_divider(session.run(divider()));
  // Accepted by the guard, refused by the engine, which then has no circuit.
  const EngineReply reply =
      session.run({{"title", "v1 n1 0 10", "r1 n1 n2 foo(", ".end"}, {"n2"}});
  CHECK(reply.status == EngineStatus::not_solved);
  CHECK(reply.values.empty());
}

TEST_CASE("a deck does not colour the next", "[engine][session]") {
  const auto diode_at = [](const std::string& cards) {
    EngineRequest request{{"diode", "v1 n1 0 5", "r1 n1 n2 1k", "d1 n2 0 junction",
                           ".model junction d is=1e-12"},
                          {"n2", "@d1[id]"}};
    if (!cards.empty()) request.deck.push_back(cards);
    request.deck.emplace_back(".end");
    return request;
  };
  const EngineReply alone = EngineSession(options()).run(diode_at(""));
  REQUIRE(alone.status == EngineStatus::solved);
  EngineSession session(options());
  for (const char* cards : {".options temp=100 gmin=1e-9", ".temp 80",
                            ".param v1=3 is=1", ".func exp(x) {x}"}) {
    CAPTURE(cards);
    const EngineReply other = session.run(diode_at(cards));
    const EngineReply again = session.run(diode_at(""));
    REQUIRE(again.status == EngineStatus::solved);
    CHECK(again.values == alone.values);  // to the last bit
    if (std::string(cards).find("temp") != std::string::npos) {
      REQUIRE(other.status == EngineStatus::solved);
      CHECK(other.values[0] < alone.values[0] - 0.05);  // about -2 mV per kelvin
    }
  }
}

TEST_CASE("a deck above the frame's size is refused", "[engine][session]") {
  Lines deck(2000, "r1 n1 0 1k " + std::string(10'000, ' ') + "m=1");
  deck.back() = ".end";
  const EngineReply reply = EngineSession(options()).run({deck, {"n1"}});
  CHECK(reply.status == EngineStatus::too_large);
  CHECK_THAT(reply.message, Contains("above 16777216"));
}

TEST_CASE("a large deck arrives whole", "[engine][session]") {
  // 3,000 resistors in a row from 3,000 V: net k is at 3000 - k volts.
  Lines deck{"row", "v1 n0 0 3000"};
  for (int k = 0; k < 3000; ++k) {
    const std::string next = k == 2999 ? "0" : fmt::format("n{}", k + 1);
    deck.push_back(fmt::format("r{} n{} {} 1", k, k, next));
    deck.push_back("* " + std::string(200, 'x'));
  }
  deck.emplace_back(".end");
  EngineSession session(options());
  const EngineReply reply = session.run({deck, {"n1000", "n2999", "v1#branch"}});
  CAPTURE(reply.message);
  REQUIRE(reply.status == EngineStatus::solved);
  // cond(A) of a chain of n equal resistors grows as n^2 [e.g. Higham 2002, sec. 15]:
  // the bound n eps n^2 is 6e-6 here.
  CHECK_THAT(reply.values[0], WithinRel(2000.0, 6e-6));
  CHECK_THAT(reply.values[1], WithinRel(1.0, 6e-6));
  CHECK_THAT(reply.values[2], WithinRel(-1.0, 6e-6));
}

TEST_CASE("a hanging worker is ended at the deadline and replaced",
          "[engine][session]") {
  EngineOptions hasty = options();
  hasty.deadline = 500ms;
  EngineSession session(hasty);
  check_is_divider(session.run(divider()));
  const pid_t hanging = session.worker_pid();
  REQUIRE(kill(hanging, SIGSTOP) == 0);
  const auto begin = std::chrono::steady_clock::now();
  const EngineReply reply = session.run(divider());
  const auto took = std::chrono::steady_clock::now() - begin;
  CHECK(reply.status == EngineStatus::timed_out);
  CHECK(took >= 500ms);
  CHECK(took < 5s);  // far above any scheduling delay
  CHECK(kill(hanging, 0) == -1);
  check_is_divider(session.run(divider()));
}

TEST_CASE("a killed worker is replaced and the request repeated", "[engine][session]") {
  EngineSession session(options());
  check_is_divider(session.run(divider()));
  const pid_t killed = session.worker_pid();
  REQUIRE(kill(killed, SIGKILL) == 0);
  check_is_divider(session.run(divider()));
  CHECK(session.worker_pid() != killed);

  session.start();
  EngineSession fresh(options());
  fresh.start();
  REQUIRE(kill(fresh.worker_pid(), SIGKILL) == 0);  // perhaps before its hello
  check_is_divider(fresh.run(divider()));
}

TEST_CASE("a finished session's worker ends by itself, and another answers",
          "[engine][session]") {
  EngineSession session(options());
  session.finish();  // nothing to finish yet
  check_is_divider(session.run(divider()));
  const pid_t first = session.worker_pid();
  session.finish();
  check_is_divider(session.run(divider()));
  CHECK(session.worker_pid() != first);
}

TEST_CASE("many decks do not fill the worker", "[engine][session]") {
  EngineSession session(options());
  const auto resident_kilobytes = [&session] {
    const auto status = "/proc/" + std::to_string(session.worker_pid()) + "/status";
    return std::stol(scratch::field_of(status, "VmRSS:"));
  };
  EngineRequest request{
      {"many", "v1 n1 0 10", "r1 n1 n2 1k", "d1 n2 0 dd", "q1 n1 n2 n3 qq",
       "r2 n3 0 1k", "b1 n4 0 v=v(n2)*2", "r3 n4 0 1k", ".model dd d is=1e-14",
       ".model qq npn", ".options reltol=1e-9", ".end"},
      {"n2", "n3", "n4", "@q1[ic]", "@d1[id]"}};
  const auto load = [&](int k) {
    // Other options than the last one's: a deck of its own, not changes of a held one.
    request.deck.at(10) = k % 2 == 0 ? ".options reltol=1e-9" : ".options reltol=1e-8";
    REQUIRE(session.run(request).status == EngineStatus::solved);
  };
  for (int warm = 0; warm < 100; ++warm) load(warm);
  const pid_t worker = session.worker_pid();
  const long before = resident_kilobytes();
  for (int k = 0; k < 2000; ++k) load(k);
  CHECK(session.worker_pid() == worker);
  // Measured: 1.1 MB, 0.6 kB per deck that the engine does not give back; 1 kB is
  // allowed.
  constexpr long kGrowth = 2000;
  CHECK(resident_kilobytes() - before < kGrowth);
}

TEST_CASE("a session leaves nothing behind", "[engine][session]") {
  const scratch::Folder place;
  const scratch::Setting temporary("TMPDIR", place.path());
  const int before = scratch::open_descriptors();
  {
    EngineSession idle(options());
    EngineSession starting(options());
    starting.start();
    EngineSession used(options());
    check_is_divider(used.run(divider()));
    EngineSession crashed(options());
    check_is_divider(crashed.run(divider()));
    kill(crashed.worker_pid(), SIGKILL);
    EngineSession moved = std::move(used);
    check_is_divider(moved.run(divider()));
    CHECK(scratch::has_children());
    CHECK(place.is_empty());
  }
  CHECK(scratch::open_descriptors() == before);
  CHECK_FALSE(scratch::has_children());
  CHECK(place.is_empty());
}

TEST_CASE("where TMPDIR takes no folder the worker stands below /tmp",
          "[engine][session]") {
  const scratch::Folder place;
  const std::string missing = place.path() / "missing";
  // /proc exists and takes no folder, not even from the superuser.
  for (const std::string& bad : {missing, std::string("/proc"), std::string()}) {
    CAPTURE(bad);
    const scratch::Setting temporary("TMPDIR", bad);
    EngineSession session(options());
    check_is_divider(session.run(divider()));
    const std::string stands = std::filesystem::read_symlink(
        "/proc/" + std::to_string(session.worker_pid()) + "/cwd");
    CHECK_THAT(stands, Catch::StartsWith("/tmp/benchproof-"));
  }
}

TEST_CASE("a missing worker program is named", "[engine][session]") {
  EngineOptions lost = options();
  lost.worker_path = "/nowhere/benchproof-worker";
  EngineSession session(lost);
  session.start();
  const EngineReply reply = session.run(divider());
  CHECK(reply.status == EngineStatus::unavailable);
  CHECK(reply.message ==
        "cannot start '/nowhere/benchproof-worker': No such file or directory");
}

TEST_CASE("a relative path to the worker is taken from here", "[engine][session]") {
  EngineOptions here = options();
  here.worker_path = std::filesystem::relative(scratch::worker_path());
  check_is_divider(EngineSession(here).run(divider()));
}

TEST_CASE("few free descriptors give an answer or a clear failure",
          "[engine][session]") {
  rlimit former{};
  REQUIRE(getrlimit(RLIMIT_NOFILE, &former) == 0);
  const int before = scratch::open_descriptors();
  const int lowest_free = open("/dev/null", O_RDONLY | O_CLOEXEC);
  REQUIRE(lowest_free >= 0);
  close(lowest_free);
  EngineSession session(options());
  for (int free = 0; free <= 3; ++free) {
    CAPTURE(free);
    rlimit tight = former;
    tight.rlim_cur = static_cast<rlim_t>(lowest_free) + free;
    REQUIRE(setrlimit(RLIMIT_NOFILE, &tight) == 0);
    const EngineReply reply = session.run(divider());
    REQUIRE(setrlimit(RLIMIT_NOFILE, &former) == 0);
    if (free < 3) {  // the folder and the socket's two ends
      CHECK(reply.status == EngineStatus::unavailable);
      CHECK_THAT(reply.message, Contains("Too many open files"));
      CHECK(scratch::open_descriptors() == before);
    } else {
      check_is_divider(reply);
    }
  }
}

TEST_CASE("a worker does not outlive its parent", "[engine][session]") {
  int told[2];
  REQUIRE(pipe(told) == 0);
  const pid_t parent = fork();
  if (parent == 0) {
    EngineSession session(options());
    const bool is_solved = session.run(divider()).status == EngineStatus::solved;
    const pid_t worker = is_solved ? session.worker_pid() : 0;
    const auto put = write(told[1], &worker, sizeof worker);
    if (put == sizeof worker) pause();
    _exit(1);
  }
  close(told[1]);
  pid_t worker = 0;
  REQUIRE(read(told[0], &worker, sizeof worker) == sizeof worker);
  close(told[0]);
  REQUIRE(worker > 0);
  const auto stat = "/proc/" + std::to_string(worker) + "/status";
  CHECK_THAT(scratch::field_of(stat, "State:"), !Contains("Z"));
  CHECK(scratch::field_of(stat, "PPid:") == std::to_string(parent));
  REQUIRE(kill(parent, SIGKILL) == 0);
  REQUIRE(waitpid(parent, nullptr, 0) == parent);
  // Gone, or dead and waiting for whoever reaps orphans here.
  bool is_dead = false;
  for (int wait = 0; wait < 200 && !is_dead; ++wait) {
    const std::string state = scratch::field_of(stat, "State:");
    is_dead = state.empty() || state.starts_with("Z") || state.starts_with("X");
    if (!is_dead) std::this_thread::sleep_for(10ms);
  }
  CHECK(is_dead);
}

TEST_CASE("a deadline must be positive", "[engine][session]") {
  EngineOptions none = options();
  none.deadline = 0ms;
  CHECK_THROWS_AS(EngineSession(none), std::invalid_argument);
  EngineOptions broke = options();
  broke.budget = 0ms;
  CHECK_THROWS_AS(EngineSession(broke), std::invalid_argument);
}
