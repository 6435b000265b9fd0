#pragma once

#include <span>
#include <string_view>
#include <vector>

#include "core/check/finding/explanation.h"

namespace benchproof {

/// All explanations, in the order in which findings are told: those of states, then of
/// the whole description, then of runs.
[[nodiscard]] std::vector<Explanation> explanations();

/// Their ids.
[[nodiscard]] std::span<const std::string_view> explained_ids();

/// The explanation of an id, or nothing.
[[nodiscard]] const Explanation* find_explanation(std::string_view check);

/// The id of a finding that another file explains.
/// @throws std::invalid_argument where none does.
[[nodiscard]] CheckId check_id(std::string_view check);

}  // namespace benchproof
