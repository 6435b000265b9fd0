// The seal itself: decks go to the worker as they are, past the session's guard.
#include <fcntl.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cerrno>
#include <cmath>
#include <csignal>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <optional>

#include "scratch.h"
#include "spice/session/detail/worker_process.h"
#include "spice/session/engine_session.h"
#include "spice/worker/protocol.h"
#include "tests/files.h"

namespace {

namespace wire = benchproof::wire;
using benchproof::Transfer;
using benchproof::WorkerProcess;
using Catch::Contains;
using Lines = std::vector<std::string>;
using namespace std::chrono_literals;

// A worker that has said hello.
std::unique_ptr<WorkerProcess> greeted_worker() {
  WorkerProcess::Start start = WorkerProcess::start(scratch::worker_path());
  INFO(start.failure);
  REQUIRE(start.worker != nullptr);
  std::string payload;
  REQUIRE(start.worker->stream().receive(wire::FrameKind::hello, payload,
                                         std::chrono::steady_clock::now() + 10s) ==
          Transfer::done);
  const auto hello = wire::decode_hello(payload);
  REQUIRE(hello);
  REQUIRE(hello->is_engine_ready);
  REQUIRE(hello->is_sealed);
  return std::move(start.worker);
}

// The answer to a request; nothing if none came.
std::optional<wire::Reply> ask(WorkerProcess& worker, const wire::Request& request,
                               std::chrono::milliseconds patience = 10s,
                               Transfer* how = nullptr) {
  const auto deadline = std::chrono::steady_clock::now() + patience;
  std::string payload;
  Transfer transfer = worker.stream().send(wire::encode(request), deadline);
  if (transfer == Transfer::done) {
    transfer = worker.stream().receive(wire::FrameKind::reply, payload, deadline);
  }
  if (how != nullptr) *how = transfer;
  if (transfer != Transfer::done) return std::nullopt;
  return wire::decode_reply(payload);
}

// The answer to a deck with one resistor at 10 V and `lines` in it.
std::optional<wire::Reply> ask(WorkerProcess& worker, const Lines& lines,
                               std::chrono::milliseconds patience = 10s,
                               Transfer* how = nullptr) {
  wire::Request request;
  request.deck = {"title", "v1 n1 0 10", "r1 n1 0 1k"};
  request.deck.insert(request.deck.end(), lines.begin(), lines.end());
  request.deck.emplace_back(".end");
  request.vectors = {"n1"};
  return ask(worker, request, patience, how);
}

// Asks for the circuit that the worker holds, with another value.
wire::Request change_of(const std::string& element, double value) {
  wire::Request request;
  request.vectors = {"n1"};
  request.changes = {{element, value}};
  return request;
}

std::string proc(const WorkerProcess& worker, const std::string& file) {
  return "/proc/" + std::to_string(worker.pid()) + "/" + file;
}

}  // namespace

TEST_CASE("the sealed worker solves", "[engine][seal]") {
  const auto worker = greeted_worker();
  const auto reply = ask(*worker, Lines{});
  REQUIRE(reply);
  CHECK(reply->outcome == wire::Outcome::solved);
  CHECK(reply->values ==
        std::vector<double>{10.0});  // the source's own voltage, exactly
}

TEST_CASE("the sealed worker changes values of the circuit that it holds",
          "[engine][seal]") {
  const auto worker = greeted_worker();
  const auto loaded = ask(*worker, Lines{});
  REQUIRE(loaded);
  CHECK(loaded->is_held);
  for (const double volts : {5.0, -1.0 / 3.0, 0.0, 1e-9}) {
    const auto changed = ask(*worker, change_of("v1", volts));
    REQUIRE(changed);
    CHECK(changed->outcome == wire::Outcome::solved);
    CHECK(changed->is_held);
    CHECK(changed->values == std::vector<double>{volts});
  }
}

TEST_CASE("the worker changes nothing but what it holds", "[engine][seal]") {
  const auto worker = greeted_worker();
  const auto is_refused = [&worker](const wire::Request& request) {
    const auto reply = ask(*worker, request);
    REQUIRE(reply);
    CHECK_FALSE(reply->is_held);
    CHECK(reply->outcome == wire::Outcome::not_solved);
    return reply->message;
  };
  CHECK_THAT(is_refused(change_of("v1", 5.0)), Contains("no circuit is held"));
  ask(*worker, Lines{});
  CHECK_THAT(is_refused(change_of("r7", 5.0)), Contains("r7"));
  // After that nothing is held either, nor after what was not solved, or in time.
  CHECK_THAT(is_refused(change_of("v1", 5.0)), Contains("no circuit is held"));
  ask(*worker, Lines{"d1 n1 0 nowhere"});
  CHECK_THAT(is_refused(change_of("v1", 5.0)), Contains("no circuit is held"));
  wire::Request in_time{wire::Analysis::transient,
                        {"title", "v1 n1 0 10", "r1 n1 0 1k", ".tran 1 1", ".end"},
                        {"n1"},
                        1.0};
  ask(*worker, Lines{});
  const auto followed = ask(*worker, in_time);
  REQUIRE(followed);
  CHECK(followed->outcome == wire::Outcome::solved);
  CHECK_FALSE(followed->is_held);
  CHECK_THAT(is_refused(change_of("v1", 5.0)), Contains("no circuit is held"));
}

TEST_CASE("the worker takes no change that is not one", "[engine][seal]") {
  std::vector<wire::Request> requests;
  for (const char* element : {"r", "d1", "v1 = 5;quit", "v1\nshell date", "@v1[dc]",
                              "v1;alter r1", "$x", "`date`", "v0123456789012345"})
    requests.push_back(change_of(element, 5.0));
  for (const double value : {std::nan(""), HUGE_VAL, -HUGE_VAL})
    requests.push_back(change_of("v1", value));
  requests.push_back(change_of("v1", 5.0));
  requests.back().analysis = wire::Analysis::transient;
  requests.push_back(change_of("v1", 5.0));
  requests.back().deck = {"title", "v1 n1 0 10", "r1 n1 0 1k", ".end"};
  for (const wire::Request& request : requests) {
    const auto worker = greeted_worker();
    ask(*worker, Lines{});
    Transfer how = Transfer::done;
    CAPTURE(request.changes.front().element, request.changes.front().value);
    CHECK_FALSE(ask(*worker, request, 10s, &how));
    CHECK(how == Transfer::closed);
    CHECK(worker->stop().text == "ended with status 3");
  }
}

TEST_CASE("a deck starts no program", "[engine][seal]") {
  const scratch::Folder place;
  const std::string mark = place.path() / "mark";
  const std::vector<Lines> attempts{
      {".control", "shell touch " + mark, ".endc"},
      {".control", "set x = `touch " + mark + "`", ".endc"},
      {"*#shell touch " + mark},
  };
  for (const Lines& lines : attempts) {
    const auto worker = greeted_worker();
    ask(*worker, lines);
    const WorkerProcess::Ending ending = worker->stop();
    CAPTURE(lines, ending.text);
    CHECK(ending.is_seal_breach);
    CHECK_THAT(ending.text, Contains("tried to start a program or a thread") ||
                                Contains("tried to open a connection or a pipe"));
    CHECK(place.is_empty());
  }
}

TEST_CASE("a deck reads and writes no file", "[engine][seal]") {
  const scratch::Folder place;
  const std::string mark = place.path() / "mark";
  const std::string included = place.path() / "included";
  std::ofstream(included) << "r2 n1 0 1k\n";
  const std::vector<Lines> attempts{
      {".control", "op", "write " + mark, ".endc"},
      {".control", "op", "wrdata " + mark + " n1", ".endc"},
      {".control", "echo x > " + mark, ".endc"},
      {".control", "op", "print n1 > " + mark, ".endc"},
      {".control", "source " + included, ".endc"},
      {".include " + included},
      {".lib " + included + " part"},
  };
  for (const Lines& lines : attempts) {
    const auto worker = greeted_worker();
    const auto reply = ask(*worker, lines);
    CAPTURE(lines);
    REQUIRE(reply);
    CHECK_FALSE(std::filesystem::exists(mark));
    // The engine says that it could not or does not know such a card, or which file it
    // could not have.
    CHECK_THAT(reply->message, Contains("Operation not permitted") ||
                                   Contains("Could not find") ||
                                   Contains("unimplemented control card") ||
                                   Contains(place.path().filename()));
  }
}

TEST_CASE("what a deck tries is told apart", "[engine][seal]") {
  struct Case {
    Lines lines;
    Transfer how;
    wire::Outcome outcome;  // Where there is an answer.
    std::string ending;     // Of the worker, or part of its answer.
  };
  const auto closed = Transfer::closed;
  const auto none = wire::Outcome::not_solved;
  const std::vector<Case> cases{
      // Sends mail to the engine's authors.
      {{".control", "bug", ".endc"}, closed, none, "tried to start a program"},
      {{".control", "while 1", "echo flood", "end", ".endc"},
       Transfer::timed_out,
       none,
       "killed by signal 9"},
      {{".control", "quit", ".endc"},
       Transfer::done,
       wire::Outcome::leaving,
       "ended with status 0"},
      // A function of itself: the engine of Debian 12 dies of it. (Of an expression
      // that
      // breaks off it dies eleven times of twelve, by what its memory holds.)
      {{".func f(x) {f(x)}", "r8 n1 0 {f(1)}"}, closed, none, "killed by signal 11"},
      {{".subckt a 1", "xa 1 a", ".ends", "xb n1 a"}, Transfer::done, none, "signal 9"},
      {{".param a={b}", ".param b={a}", "r9 n1 0 {a}"},
       Transfer::done,
       wire::Outcome::leaving,
       "ended with status 0"},
  };
  for (const Case& c : cases) {
    CAPTURE(c.lines);
    const auto worker = greeted_worker();
    Transfer how = Transfer::done;
    // Only what never ends is not waited for.
    const auto patience = c.how == Transfer::timed_out ? 500ms : 30'000ms;
    const auto reply = ask(*worker, c.lines, patience, &how);
    CHECK(how == c.how);
    if (how == Transfer::done) CHECK(reply->outcome == c.outcome);
    // A worker that leaves is given the time to.
    if (reply && reply->outcome == wire::Outcome::leaving) ask(*worker, Lines{}, 2s);
    CHECK_THAT(worker->stop().text, Contains(c.ending));
    CHECK_FALSE(scratch::has_children());
  }
}

TEST_CASE("the seal holds from inside", "[engine][seal]") {
  struct Case {
    const char* deed;
    int status;
  };
  constexpr int kRefused = 50;
  constexpr int kProgram = static_cast<int>(wire::Breach::program);
  constexpr int kConnection = static_cast<int>(wire::Breach::connection);
  constexpr int kProcess = static_cast<int>(wire::Breach::process);
  constexpr int kSignal = 1000;
  const std::vector<Case> cases{
      {"nothing", 0},
      {"execve", kProgram},
      {"execveat", kProgram},
      {"fork", kProgram},
      {"clone", kProgram},
      {"thread", kSignal + SIGSYS},  // The C library blocks signals meanwhile.
      {"system", kSignal + SIGSYS},
      {"socket", kConnection},
      {"unix-socket", kConnection},
      {"pipe", kConnection},
      {"connect", kConnection},
      {"io-uring", kConnection},
      {"blocked-signal", kSignal + SIGSYS},
      {"kill-parent", kProcess},
      {"kill-all", kProcess},
      {"trace", kProcess},
      {"read-parent", kProcess},
      {"signal-parent", kRefused},
#ifdef __x86_64__
      {"foreign-call", kSignal + SIGSYS},
#endif
      {"read-file", kRefused},
      {"write-file", kRefused},
      {"look-up", kRefused},
      {"list-folder", kRefused},
      {"make-folder", kRefused},
      {"remove", kRefused},
      {"rename", kRefused},
      {"link", kRefused},
      {"change-folder", kRefused},
      {"truncate", kRefused},
      {"duplicate", kRefused},
      {"descriptor-in-memory", kRefused},
      {"code-at-once", kRefused},
      {"code-later", kRefused},
      {"catch-the-seal", kRefused},
      {"raise-limits", kRefused},
      {"outlive-parent", kRefused},
      {"mount", kRefused},
      {"namespace", kRefused},
      {"user", kRefused},
      {"memory", kRefused},
      {"crash", kSignal + SIGSEGV},
      {"abort", kSignal + SIGABRT},
  };
  for (const Case& c : cases) {
    CAPTURE(c.deed);
    const pid_t child = fork();
    if (child == 0) {
      execl(BENCHPROOF_SEAL_BREAKER, "seal_breaker", c.deed, nullptr);
      _exit(127);
    }
    int status = 0;
    REQUIRE(waitpid(child, &status, 0) == child);
    const int ended =
        WIFEXITED(status) ? WEXITSTATUS(status) : kSignal + WTERMSIG(status);
    // A kernel that has no calls of another architecture does not even let one begin.
    const bool is_unknown_call =
        std::string_view(c.deed) == "foreign-call" && ended == kSignal + SIGSEGV;
    CHECK((ended == c.status || is_unknown_call));
  }
}

TEST_CASE("an endless deck ends at the deadline", "[engine][seal]") {
  const auto worker = greeted_worker();
  Transfer how = Transfer::done;
  CHECK_FALSE(ask(*worker, {".control", "while 1", "end", ".endc"}, 200ms, &how));
  CHECK(how == Transfer::timed_out);
  const pid_t pid = worker->pid();
  CHECK_THAT(worker->stop().text, Contains("killed by signal 9"));
  CHECK(kill(pid, 0) == -1);
  CHECK_FALSE(scratch::has_children());
}

TEST_CASE("a deck cannot take all memory", "[engine][seal]") {
  // Ten vectors of ten million doubles are 800 MB, above the 512 MiB of address space.
  Lines lines{".control"};
  for (const char* name : {"a", "b", "c", "d", "e1", "f", "g", "h", "j", "k"}) {
    lines.push_back(std::string("let ") + name + " = vector(10000000)");
  }
  lines.emplace_back(".endc");
  const auto worker = greeted_worker();
  // Filling them takes seconds where others use the machine, too.
  const auto reply = ask(*worker, lines, 60s);
  REQUIRE(reply);
  CHECK(reply->outcome == wire::Outcome::leaving);
  CHECK_THAT(reply->message, Contains("can't allocate 80000000 bytes"));
}

TEST_CASE("garbage on its socket ends the worker", "[engine][seal]") {
  const auto worker = greeted_worker();
  const auto deadline = std::chrono::steady_clock::now() + 10s;
  const std::string frame =
      GENERATE(std::string("GET / HTTP/1.1\r\n\r\n"), wire::encode(wire::Hello{}),
               std::string("BPW\x01\x02\0\0\0\x04\0\0\0\xFF\xFF\xFF\xFF", 16));
  CHECK(worker->stream().send(frame, deadline) == Transfer::done);
  std::string payload;
  CHECK(worker->stream().receive(wire::FrameKind::reply, payload, deadline) ==
        Transfer::closed);
  CHECK(worker->stop().text == "ended with status 3");
}

TEST_CASE("the worker holds nothing of its parent's", "[engine][seal]") {
  const scratch::Folder place;
  const scratch::Setting home("HOME", place.path());
  const scratch::Setting scripts("SPICE_SCRIPTS", place.path());
  const scratch::Setting library("SPICE_LIB_DIR", place.path());
  const scratch::Setting preload("LD_PRELOAD", place.path() / "no-such-library.so");
  const scratch::Setting secret("BENCHPROOF_TEST_SECRET", "secret");
  const int leak = open("/dev/null", O_RDWR);  // inheritable, on purpose
  REQUIRE(leak >= 0);
  const auto worker = greeted_worker();

  std::string environment = benchproof::text_of(proc(*worker, "environ"));
  std::replace(environment.begin(), environment.end(), '\0', '\n');
  CHECK(environment ==
        "HOME=/dev/null\nSPICE_SCRIPTS=/dev/null\nLC_ALL=C\nTZ=UTC0\n"
        "PATH=/dev/null\nOMP_NUM_THREADS=1\n");

  std::vector<std::string> held;
  for (const auto& entry : std::filesystem::directory_iterator(proc(*worker, "fd"))) {
    held.push_back(entry.path().filename());
  }
  std::sort(held.begin(), held.end());
  CHECK(held == std::vector<std::string>{"0", "1", "2", "3"});
  for (const char* standard : {"0", "1", "2"}) {
    CHECK(std::filesystem::read_symlink(proc(*worker, std::string("fd/") + standard)) ==
          "/dev/null");
  }
  const std::string cwd = std::filesystem::read_symlink(proc(*worker, "cwd"));
  CHECK_THAT(cwd, Catch::EndsWith(" (deleted)"));
  close(leak);
}

TEST_CASE("the worker is bound", "[engine][seal]") {
  const auto worker = greeted_worker();
  // seccomp(2), prctl(2): mode 2 is a filter.
  CHECK(scratch::field_of(proc(*worker, "status"), "Seccomp:") == "2");
  CHECK(scratch::field_of(proc(*worker, "status"), "NoNewPrivs:") == "1");
  CHECK(scratch::field_of(proc(*worker, "status"), "Threads:") == "1");
  const auto limit = [&worker](const std::string& name) {
    const std::string both = scratch::field_of(proc(*worker, "limits"), name);
    return both.substr(0, both.find(' '));
  };
  CHECK(limit("Max address space") == "536870912");
  CHECK(limit("Max cpu time") == "600");
  CHECK(limit("Max core file size") == "0");
  CHECK(limit("Max file size") == "0");
  CHECK(limit("Max open files") == "4");
  CHECK(limit("Max processes") == "0");
}

TEST_CASE("no start-up file is obeyed", "[engine][seal]") {
  const scratch::Folder place;
  const std::string mark = place.path() / "mark";
  std::ofstream(place.path() / ".spiceinit") << "* start\nshell touch " << mark << "\n";
  std::ofstream(place.path() / "spinit") << "* start\nshell touch " << mark << "\n";
  const scratch::Setting home("HOME", place.path());
  const scratch::Setting scripts("SPICE_SCRIPTS", place.path());
  const auto former = std::filesystem::current_path();
  std::filesystem::current_path(place.path());
  const auto worker = greeted_worker();  // had it obeyed, the seal would have ended it
  const auto reply = ask(*worker, Lines{});
  std::filesystem::current_path(former);
  REQUIRE(reply);
  CHECK(reply->outcome == wire::Outcome::solved);
  CHECK_FALSE(std::filesystem::exists(mark));
}

TEST_CASE("a machine without the filter gives an unsealed worker", "[engine][seal]") {
  // Such a machine is played by a child process whose own filter, inherited by the
  // worker, refuses to load another: seccomp(2), prctl(2).
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
  const sock_fprog program{std::size(rules), rules};
  const pid_t child = fork();
  if (child == 0) {
    if (prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 ||
        prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) != 0) {
      _exit(10);
    }
    benchproof::EngineOptions options;
    options.worker_path = scratch::worker_path();
    const benchproof::EngineRequest divider{scratch::divider_deck(), {"n1"}};
    const auto strict = benchproof::EngineSession(options).run(divider);
    if (strict.status != benchproof::EngineStatus::unsealed) _exit(11);
    if (!strict.message.starts_with("system call filter: ")) _exit(12);
    options.allow_unsealed = true;
    const auto lenient = benchproof::EngineSession(options).run(divider);
    if (lenient.status != benchproof::EngineStatus::solved) _exit(13);
    _exit(lenient.is_sealed ? 14 : 0);
  }
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  REQUIRE(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 0);
}

TEST_CASE("the worker does not serve anybody else", "[engine][seal]") {
  // Started by hand, without a parent's number: status 2, see its main.cpp.
  const std::string command = scratch::worker_path() + " 2>/dev/null";
  const int status = std::system(command.c_str());
  CHECK(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 2);
}
