#pragma once

#include <cstddef>

namespace benchproof {

/// A share of trials with its exact interval at 95 % (Clopper and Pearson, 1934).
struct Share {
  double share = 0.0;
  double least = 0.0;
  double most = 1.0;
};
[[nodiscard]] Share share_of(std::size_t hits, std::size_t trials);

}  // namespace benchproof
