#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace benchproof {

/// A field of RFC 4180: in quotes where it needs them.
[[nodiscard]] std::string csv_field(std::string_view text);

/// A row of fields with its line end.
[[nodiscard]] std::string csv_row(const std::vector<std::string>& fields);

}  // namespace benchproof
