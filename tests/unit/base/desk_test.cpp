#include "core/base/desk.h"

#include <catch2/catch.hpp>
#include <future>
#include <stdexcept>
#include <thread>
#include <vector>

namespace benchproof {

TEST_CASE("what is asked is done by the thread that serves", "[base][desk]") {
  Desk desk;
  const std::thread::id here = std::this_thread::get_id();
  std::vector<std::thread::id> done(8);
  bool is_elsewhere = false;
  desk.serve([&] {
    is_elsewhere = std::this_thread::get_id() != here;
    std::vector<std::future<void>> others;
    for (std::size_t k = 0; k < done.size(); ++k) {
      others.push_back(std::async(std::launch::async, [&, k] {
        done[k] = desk.ask([] { return std::this_thread::get_id(); });
      }));
    }
    for (auto& other : others) other.get();
  });
  CHECK(is_elsewhere);
  CHECK(done == std::vector<std::thread::id>(8, here));
}

TEST_CASE("what a job or the work throws is passed on", "[base][desk]") {
  Desk desk;
  bool is_caught = false;
  desk.serve([&] {
    try {
      desk.ask([]() -> int { throw std::runtime_error("a job"); });
    } catch (const std::runtime_error&) {
      is_caught = true;
    }
  });
  CHECK(is_caught);
  Desk other;
  CHECK_THROWS_AS(other.serve([] { throw std::runtime_error("the work"); }),
                  std::runtime_error);
}

}  // namespace benchproof
