#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// The limits of a description; past one of them it is refused, with the figure.
struct Limits {
  std::size_t bytes = 1 << 20;
  std::size_t parts = 2000;
  std::size_t nets = 2000;
  std::size_t states = 200;
  std::size_t runs = 200;
  std::size_t steps = 1000;          ///< Of one run.
  std::size_t pwm_corners = 20'000;  ///< Of one run: twice per change of an output.
  std::size_t pins = 200;            ///< Outputs or inputs of one controller.
  int nesting = 16;
  std::size_t name_length = 64;
  std::size_t text_length = 200;  ///< Characters of a title, label, source or reason.
  std::size_t complaints = 50;    ///< More are counted, not told.
};

/// One change asked for beside the description: "quay_r.value" = "470R".
struct Change {
  std::string target;  ///< part.key
  std::string value;   ///< As it would stand in the description, without quotes.
};

struct ReadResult {
  std::optional<Circuit> circuit;       ///< Nothing if there are complaints.
  std::vector<Diagnostic> diagnostics;  ///< In line order.
};

/// Reads a description (DESIGN: TOML 1.0), applies `changes`, and checks its structure
/// (see structure_check.h). All complaints come in one run, except that a TOML syntax
/// error ends the reading. A complaint about a change has an unknown span.
/// `file_name` serves as the title where none is given. Never throws on any input.
[[nodiscard]] ReadResult read_circuit(std::string_view text, std::string_view file_name,
                                      const Catalogue& catalogue,
                                      const std::vector<Change>& changes = {},
                                      const Limits& limits = {});

}  // namespace benchproof
