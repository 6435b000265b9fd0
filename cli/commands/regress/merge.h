#pragma once

#include <string>
#include <variant>
#include <vector>

#include "cli/render/regress/regress_report.h"

namespace benchproof {

/// The report of a library whose shards' reports stand in `files`. They are read
/// circuit by circuit, each time that somebody goes over the circuits, so that memory
/// does not grow with the library. Returns what is wrong with the files, a line each:
/// those that cannot be read, those that do not belong together, and which shards are
/// missing, with the command that looks at each again.
[[nodiscard]] std::variant<RegressReport, std::vector<std::string>> merge_shards(
    const std::vector<std::string>& files);

}  // namespace benchproof
