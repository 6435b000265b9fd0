#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/commands/command_line/completing.h"
#include "cli/commands/command_line/options.h"

namespace benchproof {

/// What may stand for a value of that meaning: names of the catalogue and of the
/// program's findings, and those of the first description among `files` that can be
/// read. `begun` is what stands there: names with dots are completed piece by piece.
[[nodiscard]] std::vector<CompletionWord> described_names(
    Meaning meaning, const std::vector<std::string>& files, std::string_view begun);

}  // namespace benchproof
