#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"

namespace benchproof::fuzz {

/// What an input of the targets that read descriptions holds. It is the description's
/// text, which may be followed by a line "#% types" and the text of the user's own
/// catalogue, and by a line "#% asked" and lines of what is asked for beside it: a
/// variant's name, or changes "quay_r.value=470R". All of it is still TOML's, comments
/// to it, up to the first of these lines.
struct Described {
  std::string text;
  std::optional<std::string> types;
  Wishes asked;
};

[[nodiscard]] Described described(std::string_view input);

/// A description as it was read, the user's own types included.
struct Read {
  std::optional<Catalogue> own;  ///< With the user's types, where there are any.
  std::vector<Diagnostic> type_complaints;
  ReadResult result;
};

/// `result` may point into `own`: keep it where it is.
[[nodiscard]] std::unique_ptr<const Read> read(const Described& described);

}  // namespace benchproof::fuzz
