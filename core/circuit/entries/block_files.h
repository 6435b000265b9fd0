#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "core/circuit/entries/limits.h"

namespace benchproof {

/// A file that a description takes blocks from (see block_files).
struct BlockFile {
  std::string path;     ///< From the description's folder.
  std::string text;     ///< At most as many bytes as a description.
  std::string failure;  ///< Why it could not be read; empty when it was.
};

/// The files that a description takes blocks from: those that it names, and those that
/// these name. Reads no file: `load` is asked for each, once, by its path from the
/// description's folder. Names that read_circuit does not let pass are left out.
[[nodiscard]] std::vector<BlockFile> block_files(
    std::string_view description,
    const std::function<BlockFile(const std::string& path)>& load,
    const Limits& limits = {});

/// The path of a block's file from the description's folder, as the text in that place
/// names it; `from` is the path of the file that holds the text, empty for the
/// description.
[[nodiscard]] std::string path_from(const std::string& from, const std::string& name);

}  // namespace benchproof
