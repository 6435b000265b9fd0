#pragma once

#include <string>
#include <vector>

#include "core/compare/compare.h"

namespace benchproof {

/// What a comparison comes to, in plain words: which candidate has faults or cautions
/// that the others have not, what changes most, and how tight the tightest limit gets.
[[nodiscard]] std::string summary_of(const std::vector<Candidate>& candidates,
                                     const std::vector<ComparedState>& states);

}  // namespace benchproof
