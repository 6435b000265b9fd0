#pragma once

#include <string_view>
#include <vector>

namespace benchproof {

/// A shell that the program's command lines can be completed in.
struct CompletedShell {
  std::string_view name;    ///< "bash"
  std::string_view file;    ///< Where its script is installed, below share/.
  std::string_view script;  ///< Asks the program itself what may stand at the cursor.
};

[[nodiscard]] const std::vector<CompletedShell>& completed_shells();

}  // namespace benchproof
