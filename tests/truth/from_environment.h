#pragma once

#include <cstdint>
#include <cstdlib>

namespace benchproof::test {

/// A whole number from the environment: another series, or more samples.
inline std::uint64_t from_environment(const char* name, std::uint64_t otherwise) {
  const char* text = std::getenv(name);
  return text == nullptr ? otherwise : std::strtoull(text, nullptr, 10);
}

}  // namespace benchproof::test
