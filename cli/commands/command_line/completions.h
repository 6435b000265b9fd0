#pragma once

#include <functional>
#include <string>
#include <vector>

#include "cli/commands/command_line/command_line.h"

namespace benchproof {

/// Makes the table of all commands, these two among them.
using ProgramTable = std::function<Program()>;

/// `completions`: the scripts by which shells complete command lines.
[[nodiscard]] Command completions_command();

/// `manual`: the manual pages.
[[nodiscard]] Command manual_command(ProgramTable table);

/// The word by which a shell's script asks; the rest of the line is what is completed,
/// so that it is never read as options. No command of the table: nobody writes it.
inline constexpr std::string_view kAskedByShell = "completions-for";

/// Answers it. Returns the exit status.
[[nodiscard]] int answer_shell(const Program& program,
                               const std::vector<std::string>& words);

}  // namespace benchproof
