#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "core/compare/compare.h"

namespace benchproof {

/// What a comparison comes to, in plain words: which candidate has faults or cautions
/// that the others have not, what only some have, what changes most, and how tight the
/// tightest limit of a fault or a caution gets. With runs, which nobody looked at, it
/// speaks of rest only.
[[nodiscard]] std::string summary_of(const std::vector<Candidate>& candidates,
                                     const std::vector<ComparedState>& states,
                                     std::size_t runs);

/// How long a battery lasts, as people say it, in nine columns at most: "3.44 days",
/// ">99 years" from kLongestLife on.
[[nodiscard]] std::string life_text(double seconds);

}  // namespace benchproof
