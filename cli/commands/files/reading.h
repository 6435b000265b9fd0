#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "cli/render/verify/report.h"
#include "core/catalogue/catalogue.h"
#include "core/circuit/read/reader.h"

namespace benchproof {

/// Reads the description behind a file's name (see read_input) in the variant and with
/// the changes asked for, and the file that it names as its catalogue. Checks that it
/// has every state of `states`, each to be judged at rest, and every run of `runs`.
/// Puts complaints into `complaints` and `own_catalogue`. Solves nothing.
[[nodiscard]] FileReport read_description(const std::string& path,
                                          const Catalogue& catalogue,
                                          const Wishes& asked,
                                          const std::vector<std::string>& states,
                                          const std::vector<std::string>& runs = {});

/// The files that a description takes blocks from; `path` is that of the description.
[[nodiscard]] std::vector<BlockFile> read_block_files(const std::string& path,
                                                      std::string_view description);

/// A description that was read, in another variant or with other changes; `built_in` is
/// the catalogue that it was read with.
[[nodiscard]] FileReport read_version(const FileReport& report,
                                      const Catalogue& built_in, const Wishes& asked);

/// Reads the values of --variant (empty: none) and of --set, "quay_r.value=470R" each.
/// Returns in words what is wrong with the form of a change.
[[nodiscard]] std::variant<Wishes, std::string> parse_asked(
    const std::string& variant, const std::vector<std::string>& changes);

/// Reads changes with commas between them, "quay_r.value=330R,jack.voltage=9V". Returns
/// in words what is wrong with the form of one.
[[nodiscard]] std::variant<Wishes, std::string> parse_list(const std::string& list);

}  // namespace benchproof
