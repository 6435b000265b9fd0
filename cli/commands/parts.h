#pragma once

#include <string>
#include <vector>

namespace benchproof {

struct PartsOptions {
  std::vector<std::string> words;  ///< A kind, a type, or words; empty: all kinds.
  std::string file;                ///< The user's own types; empty: none.
  bool csv = false;
  bool json = false;
};

/// Shows the catalogue. Returns the exit status: kExitRefused for what it does not
/// have.
[[nodiscard]] int run_parts(const PartsOptions& options);

}  // namespace benchproof
