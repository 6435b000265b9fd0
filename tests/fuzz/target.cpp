#include "tests/fuzz/target.h"

#include <cstdio>
#include <cstdlib>

namespace benchproof::fuzz {

void demand(bool holds, std::string_view promise) {
  if (holds) return;
  std::fprintf(stderr, "broken promise: %.*s\n", static_cast<int>(promise.size()),
               promise.data());
  std::abort();
}

std::string_view text_of(const std::uint8_t* bytes, std::size_t size) {
  return {reinterpret_cast<const char*>(bytes), size};
}

}  // namespace benchproof::fuzz
