#pragma once

#include <string>

namespace benchproof {

/// Compares a text with the file tests/cli/golden/NAME: all but its numbers must be
/// equal, and each number within one unit of the last digit that the file has. Empty
/// when it passes, else what differs first. With BENCHPROOF_REWRITE_GOLDEN in the
/// environment the file is written instead, which is told as a difference too, so that
/// no run passes unread.
[[nodiscard]] std::string golden_difference(const std::string& name,
                                            const std::string& text);

/// Compares two texts in the same way; `name` says in the message where `expected`
/// stands.
[[nodiscard]] std::string text_difference(const std::string& name,
                                          const std::string& expected,
                                          const std::string& text);

}  // namespace benchproof
