#pragma once

#include <cstddef>
#include <optional>
#include <utility>

#include "core/network/witnesses.h"
#include "core/verify/verify.h"

namespace benchproof {

/// One caution where an expectation or a rating that holds as described fails in the
/// worst copy: all numbers at those of their ends that bring it nearest to its limit,
/// by the slope of each one alone. Both witnesses have solved that corner. The state's
/// index, and the caution; nothing where all hold, or where what fails is told already.
[[nodiscard]] std::optional<std::pair<std::size_t, Finding>> check_left_out(
    const Circuit& circuit, const Verification& verification, const Solve& engine,
    const Solve& nodal);

/// Puts that caution into its state, and into the verdicts.
void add_left_out(const Circuit& circuit, const Solve& engine, const Solve& nodal,
                  Verification& verification);

}  // namespace benchproof
