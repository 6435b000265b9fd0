#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/render/report.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/reader.h"

namespace benchproof {

/// Reads the description behind a file's name (see read_input) with changes put in, and
/// sees that it has every state of `states`, each to be judged at rest, and every run
/// of `runs`. The file that the description names as its catalogue is read as well.
/// What is wrong stands in `complaints` and `own_catalogue`; nothing is solved yet.
[[nodiscard]] FileReport read_description(const std::string& path,
                                          const Catalogue& catalogue,
                                          const std::vector<Change>& changes,
                                          const std::vector<std::string>& states,
                                          const std::vector<std::string>& runs = {});

/// "quay_r.value=470R" as a change, or nothing when it does not have that form.
[[nodiscard]] std::optional<Change> parse_change(const std::string& text);

}  // namespace benchproof
