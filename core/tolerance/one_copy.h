#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/copy/spreads.h"
#include "core/verify/verify.h"

namespace benchproof {

/// One copy of a circuit: where its numbers are, and what becomes of them.
struct OneCopy {
  std::vector<Spread> spreads;
  std::vector<double> places;  ///< One a spread.
  std::vector<double> values;  ///< As described, but for a state's own.
  Verification verification;
};

/// Judges copy `index` of series `seed` at rest by both witnesses, in all steady states
/// or those named in `only`. Each network is lowered with all of the copy's numbers put
/// in. Gives `circuit` the copy's ambient temperature; the verification points into it.
[[nodiscard]] OneCopy one_copy(Circuit& circuit, std::size_t index, std::uint64_t seed,
                               const std::vector<std::string>& only,
                               const Solve& engine, const Solve& nodal);

}  // namespace benchproof
