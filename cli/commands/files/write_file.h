#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace benchproof {

/// Whether a file's text is on the disk before the file has its name.
enum class Durability { none, synced };

/// Puts a text into a file, made where there is none: whole or not at all, and if
/// `synced` so when the power fails. A file that is there keeps its owner and its
/// permissions; a symbolic link keeps leading to it; one with hard links is left alone.
/// Returns why it could not, or nothing.
[[nodiscard]] std::string write_file(const std::string& path, std::string_view text,
                                     Durability durability = Durability::synced);

/// The same with a text that comes in pieces, which `fill` puts.
[[nodiscard]] std::string write_file(
    const std::string& path,
    const std::function<void(const std::function<void(std::string_view)>& put)>& fill,
    Durability durability = Durability::synced);

/// "it may not be changed: Permission denied": what failed, and why by `errno`.
[[nodiscard]] std::string with_system_error(std::string_view what);

}  // namespace benchproof
