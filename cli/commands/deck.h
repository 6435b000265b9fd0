#pragma once

#include <string>
#include <vector>

#include "core/circuit/read/reader.h"

namespace benchproof {

struct DeckCommandOptions {
  std::string file;
  Asked asked;
  std::string state;   ///< Empty: the first that is judged at rest.
  bool plain = false;  ///< As the engine gets it, without explanations.
};

/// Writes the deck that the engine is sent for one state (on PWM: with all outputs on).
/// Returns the exit status.
[[nodiscard]] int run_deck(const DeckCommandOptions& options);

}  // namespace benchproof
