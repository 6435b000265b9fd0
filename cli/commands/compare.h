#pragma once

#include <string>
#include <vector>

#include "core/circuit/read/reader.h"

namespace benchproof {

struct CompareOptions {
  std::vector<std::string> files;     ///< One, or several with the same nets.
  std::vector<std::string> variants;  ///< Of one file: a column each ...
  std::vector<Asked> lists;           ///< ... and each list of changes one.
  std::vector<std::string> states;    ///< Empty: all.
  bool all = false;                   ///< What does not change is shown too.
  bool json = false;
  bool allow_unsealed = false;
};

/// Compares versions of a circuit: the description as it stands with every variant
/// named (all, if neither variants nor lists are) and every list of changes, or several
/// files. From two lists on, and without variants, the description as it stands is no
/// column. Returns the exit status: the worst of the columns'.
[[nodiscard]] int run_compare(const CompareOptions& options);

}  // namespace benchproof
