#include "core/base/threads.h"

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <mutex>
#include <new>
#include <set>
#include <stdexcept>

namespace benchproof {
namespace {

TEST_CASE("each thread does its own", "[base][threads]") {
  std::mutex mutex;
  std::multiset<unsigned> done;
  on_threads(5, [&](unsigned thread) {
    const std::scoped_lock lock(mutex);
    done.insert(thread);
  });
  CHECK(done == std::multiset<unsigned>{0, 1, 2, 3, 4});
  on_threads(1, [&](unsigned thread) { done.insert(thread + 10); });
  CHECK(done.count(10) == 1);
}

TEST_CASE("what a thread throws is passed on when all have ended", "[base][threads]") {
  for (const unsigned thrower : {0U, 1U, 3U}) {
    CAPTURE(thrower);
    std::atomic<int> ended = 0;
    const auto work = [&](unsigned thread) {
      if (thread == thrower) throw std::runtime_error("no more of it");
      ++ended;
    };
    CHECK_THROWS_AS(on_threads(4, work), std::runtime_error);
    CHECK(ended == 3);
  }
}

TEST_CASE("where no more threads are to be had those there are do the work",
          "[base][threads]") {
  if (BENCHPROOF_SANITIZED) return;  // The sanitizers take address space without end.
  // In a process of its own, which has room only for stacks that are there from before.
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    const rlimit none{1, 1};
    ::setrlimit(RLIMIT_AS, &none);
    std::atomic<unsigned> begun = 0;
    on_threads(60, [&](unsigned) { ++begun; });
    ::_exit(begun >= 1 && begun < 60 ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  CHECK(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 0);
}

}  // namespace
}  // namespace benchproof
