#pragma once

#include <cstddef>
#include <string>

namespace benchproof {

/// The bytes behind a file's name, or why there are none.
struct Input {
  std::string name;   ///< As the user named it; "standard input" for "-".
  std::string bytes;  ///< At most `limit` + 1: one more than allowed is enough to tell.
  std::string failure;  ///< Empty when read.
};

/// Reads a regular file, a pipe, a device or, as "-", standard input, and never more
/// than `limit` + 1 bytes of it.
[[nodiscard]] Input read_input(const std::string& path, std::size_t limit);

/// Reads a regular file, and refuses links, pipes and devices; never more than
/// `limit` + 1 bytes of it.
[[nodiscard]] Input read_ordinary(const std::string& path, std::size_t limit);

/// Reads the regular file that stands at `path` within the folder of the file named
/// `beside`, links followed, and no file outside of that folder. At most `limit` + 1
/// bytes. `path` has been found to be relative and without `..`.
[[nodiscard]] Input read_beside(const std::string& beside, const std::string& path,
                                std::size_t limit);

}  // namespace benchproof
