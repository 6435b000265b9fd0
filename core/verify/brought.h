#pragma once

#include <cstddef>
#include <vector>

#include "core/check/finding/finding.h"

namespace benchproof {

/// Those of `then`, cautions at least, that are not among `now` as severe as that: what
/// a change brings.
[[nodiscard]] std::vector<Finding> brought(const std::vector<Finding>& then,
                                           std::vector<Finding> now);

/// Something that a change brings in a state.
struct Brought {
  std::size_t state = 0;
  Finding finding;
};

/// Whether a person has to look at `a` before `b`: the graver, causes, what fails more.
[[nodiscard]] bool is_worse(const Brought& a, const Brought& b);

}  // namespace benchproof
