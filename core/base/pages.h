#pragma once

#include <cstddef>
#include <memory>

namespace benchproof {

/// Asks the system for the pages of memory that is about to be written whole by one
/// call. One by one, as they are first written, they take ten times as long where the
/// machine is itself a guest (12 us each against 1). Less than some pages, and where
/// the system has no such call, nothing is done.
void ask_for_pages(void* memory, std::size_t bytes);

/// Lets the heap begin with so much, its pages asked for at once.
void begin_heap(std::size_t bytes);

/// Room for so many figures, whose pages are asked for at once; nothing is written there.
[[nodiscard]] std::unique_ptr<double[]> room_at_once(std::size_t count);

/// Has a vector or a string hold `count` without growing, and asks for the pages of the
/// first `written`.
template <class Row>
void reserve_at_once(Row& row, std::size_t count, std::size_t written) {
  row.reserve(count);
  ask_for_pages(row.data(), written * sizeof(*row.data()));
}

}  // namespace benchproof
