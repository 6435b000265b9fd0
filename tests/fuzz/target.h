#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

/// What every target has: run on any bytes, it returns 0, and ends the process on bytes
/// that break what the program promises.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size);

namespace benchproof::fuzz {

/// Ends the process, saying which promise was broken.
void demand(bool holds, std::string_view promise);

/// The bytes as text.
[[nodiscard]] std::string_view text_of(const std::uint8_t* bytes, std::size_t size);

}  // namespace benchproof::fuzz
