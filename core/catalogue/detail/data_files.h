#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace benchproof {

/// The files of reference/parts/ as they were when the program was built: name and
/// text. The source of this function is written at build time by embed.cmake.
[[nodiscard]] std::vector<std::pair<std::string, std::string_view>> data_files();

}  // namespace benchproof
