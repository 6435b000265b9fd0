#pragma once

#include <span>
#include <string>

#include "core/check/hand/by_hand.h"

namespace benchproof {

/// Results of handbook rules: what each computes, its formula, the numbers put in, what
/// the witnesses have beside it, what it neglects, its source.
[[nodiscard]] std::string hand_texts(std::span<const HandResult> results);

}  // namespace benchproof
