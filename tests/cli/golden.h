#pragma once

#include <string>

namespace benchproof {

/// Compares a text with the file tests/cli/golden/NAME: all but what was measured must
/// be equal, counts and values as given too; a measured figure may differ by one unit
/// of the last digit that the file has. Measured is a number with a decimal point, a
/// share in % or points, and a whole number from 100 on with a unit behind it. Empty
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
