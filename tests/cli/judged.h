#pragma once

#include <functional>
#include <string_view>

#include "cli/render/verify/report.h"

namespace benchproof {

/// The report on a description with the nodal witness standing for both, where the
/// engine's testimony is first put through `distort`.
[[nodiscard]] FileReport judged(
    std::string_view text,
    const std::function<void(Solution&)>& distort = [](Solution&) {});

/// A supply, a resistor and two lamps of which one is faded: one state, two phases.
extern const std::string_view kFaded;

}  // namespace benchproof
