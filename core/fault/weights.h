#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/circuit/circuit.h"
#include "core/fault/fault.h"

namespace benchproof {

/// How often something goes wrong, against a joint that is not soldered.
struct Weight {
  double value = 0.0;
  Mark mark = Mark::practice;
  std::string source;
};

/// The weights of reference/faults.
struct Weights {
  struct Mistake {
    FaultMode mode = FaultMode::none;
    std::string detail;  ///< Which sort of it; may be empty.
    Weight weight;
  };
  struct Failure {
    std::vector<KindId> kinds;
    bool is_polarised = false;  ///< Of those with a plus alone.
    double open = 0.0;          ///< Shares of the failures.
    double short_ = 0.0;
    double stuck = 0.0;
    Mark mark = Mark::practice;
    std::string source;
  };
  std::vector<Mistake> mistakes;
  Weight failing;  ///< Of each part that can fail.
  std::vector<Failure> failures;

  /// What hands do wrong; nothing where no entry is for it.
  [[nodiscard]] std::optional<Weight> of(FaultMode mode,
                                         std::string_view detail = {}) const;
  /// That a part fails so: open, short or stuck.
  [[nodiscard]] std::optional<Weight> of(FaultMode mode, const Part& part) const;
};

/// What a file of weights came to.
struct ReadWeights {
  Weights weights;  ///< Of use without complaints only.
  std::vector<Diagnostic> diagnostics;
};

/// Reads a file by the rules of reference/faults/README.md. All complaints come in one
/// run.
[[nodiscard]] ReadWeights read_weights(std::string_view text);

/// The weights of reference/faults.
/// @throws std::runtime_error where the file is not as it should be.
[[nodiscard]] Weights built_in_weights();

/// Two ways to the same: the sum, with the heavier one's mark and both sources.
[[nodiscard]] std::optional<Weight> sum_of(const std::optional<Weight>& a,
                                           const std::optional<Weight>& b);

}  // namespace benchproof
