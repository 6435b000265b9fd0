#pragma once

#include <string>
#include <vector>

#include "cli/commands/command_line/command_line.h"

namespace benchproof {

/// One thing that may stand at the cursor of a command line.
struct CompletionWord {
  std::string word;   ///< What would stand there, the whole word. One that ends in '.',
                      ///< '=' or ',' wants more behind it.
  std::string about;  ///< In a few words; may be empty.
};

/// What may stand at the cursor of a command line.
struct Completion {
  /// Files that may stand there as well; the shell has its own way of listing them.
  enum class Files { none, any, folders, descriptions };
  Files files = Files::none;
  std::vector<CompletionWord> candidates = {};
};

/// Completes the last of the words that follow the program's name. Names that a
/// description has are those of the first one on the line; of one that would be refused
/// there are none. Reads it and solves nothing.
[[nodiscard]] Completion complete(const Program& program,
                                  const std::vector<std::string>& words);

/// A completion as the shells' scripts read it: a line "none", "any", "folders" or
/// "descriptions", then a line for each candidate, a tab before what it is about.
[[nodiscard]] std::string completion_text(const Completion& completion);

}  // namespace benchproof
