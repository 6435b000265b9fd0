#pragma once

#include <string>
#include <variant>
#include <vector>

#include "cli/commands/command_line/command.h"

namespace benchproof {

/// A program and all that it can do.
struct Program {
  std::string name;
  std::string version;
  std::string about;   ///< A sentence.
  std::string footer;  ///< The end of its help.
  std::vector<Command> commands;
};

/// The answer to a command line that runs no command.
struct Answer {
  std::string output;     ///< Help, or the version.
  std::string complaint;  ///< Of a wrong command line; else empty.
};

/// Reads a command line and puts what it says into the options of the command that it
/// names. Returns that command, or the answer where none is to run.
[[nodiscard]] std::variant<const Command*, Answer> read_command_line(
    const Program& program, int count, char** arguments);

/// The last line of a complaint about the command line.
[[nodiscard]] std::string help_pointer();

}  // namespace benchproof
