#pragma once

#include <string>
#include <vector>

#include "core/circuit/read/reader.h"

namespace benchproof {

struct VerifyOptions {
  std::vector<std::string> files;
  Asked asked;
  std::vector<std::string> states;  ///< Those to judge ...
  std::vector<std::string> runs;    ///< ... and runs; both empty: all there are.
  bool json = false;
  bool all_variants = false;  ///< Each variant too, after the description.
  bool by_hand = false;
  bool allow_unsealed = false;
};

/// Verifies each file and writes what was found; a bad one does not stop the others.
/// Returns the exit status.
[[nodiscard]] int run_verify(const VerifyOptions& options);

}  // namespace benchproof
