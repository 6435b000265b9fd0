#pragma once

#include <string>
#include <vector>

#include "core/circuit/read/reader.h"
#include "core/order/least_ratings.h"

namespace benchproof {

struct ShoppingOptions {
  std::string file;
  Asked asked;
  Derating derating;
  bool csv = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// Judges every steady state of the description and writes what to buy for it. Returns
/// the exit status: that of the verdict on these states.
[[nodiscard]] int run_shopping(const ShoppingOptions& options);

}  // namespace benchproof
