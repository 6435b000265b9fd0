#pragma once

#include <cstddef>
#include <vector>

#include "core/check/finding/finding.h"

namespace benchproof {

/// Those of `then`, cautions at least, that are not among `now` as severe as that: what
/// a change brings.
[[nodiscard]] std::vector<Finding> brought(const std::vector<Finding>& then,
                                           std::vector<Finding> now);

/// Whether a finding says that something has too little to do its work: a chip, a
/// regulator, a relay, a transistor that switches.
[[nodiscard]] bool tells_of_function(const Finding& finding);

/// Something that a change brings in a state.
struct Brought {
  std::size_t state = 0;
  Finding finding;
};

/// Whether a person has to look at `a` before `b`: the graver, causes, what fails more.
[[nodiscard]] bool is_worse(const Brought& a, const Brought& b);

}  // namespace benchproof
