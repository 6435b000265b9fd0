#include "core/base/pages.h"

#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <numeric>
#include <string>
#include <vector>

namespace benchproof {
namespace {

/// How many of a block's pages are in memory.
long resident(void* memory, std::size_t bytes) {
  std::vector<unsigned char> pages((bytes + 4095) / 4096);
  REQUIRE(mincore(memory, bytes, pages.data()) == 0);
  return std::count_if(pages.begin(), pages.end(),
                       [](unsigned char page) { return (page & 1U) != 0; });
}

/// A block of which no page has been written.
struct Untouched {
  static constexpr std::size_t kBytes = 64 * 4096;
  char* bytes = static_cast<char*>(mmap(nullptr, kBytes, PROT_READ | PROT_WRITE,
                                        MAP_PRIVATE | MAP_ANONYMOUS, -1, 0));
  ~Untouched() { munmap(bytes, kBytes); }
};

}  // namespace

TEST_CASE("pages that are asked for are there before they are written",
          "[base][pages]") {
  const Untouched block;
  REQUIRE(resident(block.bytes, Untouched::kBytes) == 0);
  ask_for_pages(block.bytes, 4096);
  CHECK(resident(block.bytes, Untouched::kBytes) == 0);
  // Half of the block, and the page that it ends in no more.
  ask_for_pages(block.bytes + 1, Untouched::kBytes / 2);
  const long there = resident(block.bytes, Untouched::kBytes);
  if (there == 0) WARN("this system has no call for it (Linux before 5.14)");
  CHECK((there == 0 || there == 31));
  CHECK(std::all_of(block.bytes, block.bytes + Untouched::kBytes,
                    [](char byte) { return byte == 0; }));
}

TEST_CASE("memory with its pages is as any other", "[base][pages]") {
  const auto room = room_at_once(20'000);
  std::iota(room.get(), room.get() + 20'000, 0.0);
  CHECK(room[0] == 0.0);
  CHECK(room[19'999] == 19'999.0);
  CHECK(room_at_once(0) != nullptr);

  std::string text = "kept";
  reserve_at_once(text, 1'000'000, 900'000);
  CHECK(text == "kept");
  CHECK(text.capacity() >= 1'000'000);
}

}  // namespace benchproof
