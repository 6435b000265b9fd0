#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/base/quantity.h"
#include "core/base/span.h"

namespace benchproof {

/// A value that stands in a description, and what is to stand there instead.
struct Replacement {
  Span span;         ///< Of the value as written, quotes included.
  double value = 0;  ///< In `unit`.
  Unit unit = Unit::none;
  std::string from;  ///< As written; filled by `replaced`.
  std::string to;
};

/// The text with the values replaced, each in the manner in which it is written: letter
/// code ("4k7"), or number and unit with or without a blank. Nothing else changes.
/// Fills `from` and `to`. Empty where a span does not hold a value.
[[nodiscard]] std::string replaced(std::string_view text,
                                   std::vector<Replacement>& replacements);

/// Puts a new text in the place of a file that still holds `before`: whole or not at
/// all, with the file's permissions, through links. Returns why it could not, or
/// nothing.
[[nodiscard]] std::string rewrite_file(const std::string& path, std::string_view before,
                                       std::string_view after);

}  // namespace benchproof
