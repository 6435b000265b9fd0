#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "core/circuit/read/reader.h"

namespace benchproof {

/// The files that a description takes blocks from: those that it names, and those that
/// these name. Reads no file: `load` is asked for each, once, by its path from the
/// description's folder. Names that read_circuit does not let pass are left out.
[[nodiscard]] std::vector<BlockFile> block_files(
    std::string_view description,
    const std::function<BlockFile(const std::string& path)>& load,
    const Limits& limits = {});

}  // namespace benchproof
