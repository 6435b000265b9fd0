#include "core/base/pages.h"

#include <sys/mman.h>

#include <cstdint>
#include <cstdlib>

namespace benchproof {

void ask_for_pages([[maybe_unused]] void* memory, [[maybe_unused]] std::size_t bytes) {
#ifdef MADV_POPULATE_WRITE
  constexpr std::uintptr_t kPage = 4096;
  constexpr std::size_t kLeast = 8 * kPage;
  if (bytes < kLeast) return;
  const auto first = reinterpret_cast<std::uintptr_t>(memory);
  const std::uintptr_t from = (first + kPage - 1) / kPage * kPage;
  const std::uintptr_t to = (first + bytes) / kPage * kPage;
  // What it cannot give now it gives when it is needed.
  madvise(reinterpret_cast<void*>(from), to - from, MADV_POPULATE_WRITE);
#endif
}

void begin_heap(std::size_t bytes) {
  void* const first = std::malloc(bytes);
  if (first != nullptr) ask_for_pages(first, bytes);
  std::free(first);
}

std::unique_ptr<double[]> room_at_once(std::size_t count) {
  auto room = std::make_unique_for_overwrite<double[]>(count);
  ask_for_pages(room.get(), count * sizeof(double));
  return room;
}

}  // namespace benchproof
