#pragma once

#include <string>
#include <variant>
#include <vector>

#include "cli/render/report.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"

namespace benchproof {

/// Reads the description behind a file's name (see read_input) in the variant and
/// with the changes asked for, and
/// sees that it has every state of `states`, each to be judged at rest, and every run
/// of `runs`. The file that the description names as its catalogue is read as well.
/// What is wrong stands in `complaints` and `own_catalogue`; nothing is solved yet.
[[nodiscard]] FileReport read_description(const std::string& path,
                                          const Catalogue& catalogue,
                                          const Asked& asked,
                                          const std::vector<std::string>& states,
                                          const std::vector<std::string>& runs = {});

/// A description that was read, in another variant or with other changes; `built_in` is
/// the catalogue that it was read with.
[[nodiscard]] FileReport read_version(const FileReport& report,
                                      const Catalogue& built_in, const Asked& asked);

/// What the options --variant and --set ask for: a variant's name, or none if empty,
/// and changes "quay_r.value=470R". Or what is wrong with the form of a change.
[[nodiscard]] std::variant<Asked, std::string> parse_asked(
    const std::string& variant, const std::vector<std::string>& changes);

/// Changes with commas between them, "quay_r.value=330R,jack.voltage=9V".
[[nodiscard]] std::variant<Asked, std::string> parse_list(const std::string& list);

}  // namespace benchproof
