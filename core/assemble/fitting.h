#pragma once

#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/verify/verify.h"

namespace benchproof {

/// What tells a person who holds a part how it stands: band, stripe, flat, pin 1. Empty
/// where it may stand either way. Common practice, no source.
[[nodiscard]] std::string mark_of(const Circuit& circuit, int part);

/// What to take care of when a part is placed, and afterwards: heat that it minds,
/// charge that it holds, heat that it gives as the verification has it. Common
/// practice, no source; figures as solved.
[[nodiscard]] std::vector<std::string> cautions_of(const Circuit& circuit, int part,
                                                   const Verification& verification);

/// What holds for all soldering. Common practice, no source.
[[nodiscard]] std::vector<std::string> general_cautions();

}  // namespace benchproof
