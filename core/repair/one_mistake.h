#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "core/verify/verify.h"

namespace benchproof {

/// Single mistakes, each of which explains all faults that were found at rest: with it
/// undone both witnesses find none.
struct OneMistake {
  struct Cause {
    std::string mistake;             ///< "'guard' is the wrong way round"
    std::string remedy;              ///< "turn it round"
    std::vector<std::string> parts;  ///< Names.
  };
  /// Those of parts that a fault names first, then as in repairs_of; kMostCauses.
  std::vector<Cause> causes;
  std::size_t faults = 0;  ///< That are gone then; 0: there was no answer.
};

inline constexpr std::size_t kMostCauses = 3;

/// Undoes every single one of the usual mistakes (see repairs_of) of a circuit with
/// faults, or without an answer. Nothing where none is there, none explains all, or the
/// circuit is too large for that (kMostRepairFigures).
///
/// A mistake that was told of some parts is not told of them with another value, too.
[[nodiscard]] std::optional<OneMistake> one_mistake(const Circuit& circuit,
                                                    const Verification& verification,
                                                    const Solve& engine,
                                                    const Solve& nodal);

/// Repairs times the parts, states and their phases.
inline constexpr std::size_t kMostRepairFigures = 100'000;

}  // namespace benchproof
