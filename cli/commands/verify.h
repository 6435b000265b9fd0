#pragma once

#include <string>
#include <vector>

#include "core/circuit/reader.h"

namespace benchproof {

struct VerifyOptions {
  std::vector<std::string> files;
  std::vector<Change> changes;
  std::vector<std::string> states;  ///< Those to judge; empty: every steady one.
  bool json = false;
  bool by_hand = false;
  bool allow_unsealed = false;
};

/// Verifies each file and writes what was found; a bad one does not stop the others.
/// Returns the exit status.
[[nodiscard]] int run_verify(const VerifyOptions& options);

}  // namespace benchproof
