#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/circuit/read/reader.h"

namespace benchproof {

struct WaveOptions {
  std::string file;
  std::string run;  ///< Empty: the only one, or the first with a word about the others.
  Asked asked;
  std::vector<std::string> nets;   ///< Empty, with no parts either: those that move.
  std::vector<std::string> parts;  ///< "quay", or "chip.vdd" for one pin.
  std::optional<double> every;     ///< Second; rows at its multiples only.
  std::string witness = "both";    ///< "engine", "nodal" or "both".
  bool csv = false;
  bool json = false;
  bool allow_unsealed = false;
};

/// Solves one run and writes its waveforms: drawn, as CSV or as JSON. Returns the exit
/// status.
[[nodiscard]] int run_wave(const WaveOptions& options);

}  // namespace benchproof
