#pragma once

#include <functional>
#include <string>

#include "cli/commands/command_line/options.h"

namespace benchproof {

/// One command of the program.
struct Command {
  std::string name;
  std::string about;  ///< What it does, in a few words.
  Options options;
  /// Does it, once the options have been read. Returns the exit status.
  /// @throws UsageError before anything was done.
  std::function<int()> run;
};

// The commands, each in the source that has its name.
[[nodiscard]] Command verify_command();
[[nodiscard]] Command deck_command();
[[nodiscard]] Command wave_command();
[[nodiscard]] Command draw_command();
[[nodiscard]] Command report_command();
[[nodiscard]] Command shopping_command();
[[nodiscard]] Command size_command();
[[nodiscard]] Command parts_command();
[[nodiscard]] Command range_command();
[[nodiscard]] Command tolerance_command();
[[nodiscard]] Command assemble_command();
[[nodiscard]] Command compare_command();
[[nodiscard]] Command regress_command();
[[nodiscard]] Command start_command();
[[nodiscard]] Command words_command();
[[nodiscard]] Command tidy_command();
[[nodiscard]] Command schema_command();
[[nodiscard]] Command board_command();
[[nodiscard]] Command diagnose_command();
[[nodiscard]] Command readings_command();

}  // namespace benchproof
