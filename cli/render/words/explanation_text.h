#pragma once

#include <span>
#include <string>

#include "core/check/finding/explanation.h"

namespace benchproof {

/// The long form of a finding's id, for people.
[[nodiscard]] std::string explanation_text(const Explanation& explanation);

/// All ids with one line each, in the order given.
[[nodiscard]] std::string explanations_text(std::span<const Explanation> explanations);

/// Explanations as one JSON document.
[[nodiscard]] std::string explanations_json(std::span<const Explanation> explanations);

}  // namespace benchproof
