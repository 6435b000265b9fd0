#pragma once

#include <string_view>

// Words of lists and paths that mean something by themselves.

namespace benchproof {

/// The net that is the zero.
inline constexpr std::string_view kGround = "ground";
/// The list of pins that are left open.
inline constexpr std::string_view kOpen = "open";
/// What stands before the name of a net in a path, where a part has the same name.
inline constexpr std::string_view kNetMark = "net:";

}  // namespace benchproof
