#pragma once

#include <optional>
#include <string_view>

#include "core/base/preferred.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// How far a part's key may be off, as a share: what the part says, or else what the
/// catalogue assumes. Of a value from a series, given in `series`, no more is assumed
/// than parts of that series are sold with: E48 2 %, E96 1 %, E192 0.5 % (IEC 60063,
/// from memory). Nothing where the kind or the key has no tolerance.
[[nodiscard]] std::optional<double> tolerance_of(
    const Part& part, std::string_view key,
    std::optional<Series> series = std::nullopt);

}  // namespace benchproof
