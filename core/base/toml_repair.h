#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/base/toml_tree.h"

namespace benchproof {

/// A text that is not TOML, read on as it is likely meant.
struct RepairedToml {
  std::vector<Diagnostic> diagnostics;  ///< At least one; a cause is told once.
  /// Nothing where a line could not be understood: what follows from it is not known.
  std::optional<TomlNode> root;
  std::set<int> lines;  ///< Those that were repaired: columns there are not the text's.
};

/// Reads on behind each mistake of syntax, so that all come in one run: bare words and
/// quantities are taken as texts, a comma or a closing bracket that is missing is put
/// in, and what is not understood is left out. `first` is the complaint that parse_toml
/// gave. The work is bounded: so many mistakes, of a text of so many bytes.
[[nodiscard]] RepairedToml repair_toml(std::string_view text, int nesting,
                                       Diagnostic first);

}  // namespace benchproof
