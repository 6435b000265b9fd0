#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/base/preferred.h"
#include "core/circuit/read/reader.h"

namespace benchproof {

struct SizeOptions {
  std::string file;
  Asked asked;
  std::vector<std::string> parts;  ///< "quay_r" or "trim.turn"; one or two.
  std::string want;                ///< "quay current = 8 mA"
  std::string state;               ///< Empty: the first in which the value matters.
  std::string run;
  std::optional<Series> series;  ///< Nothing: the part's usual one.
  bool is_free = false;          ///< Any value, not only those of a series.
  std::string least;             ///< As a quantity; empty: the usual bounds.
  std::string most;
  bool write = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// Writes which value meets a goal, and with `write` puts it into the description.
/// Returns the exit status: 1 where no value meets it without a fault.
[[nodiscard]] int run_size(const SizeOptions& options);

}  // namespace benchproof
