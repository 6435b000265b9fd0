#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/base/diagnostic.h"
#include "core/check/verify.h"
#include "core/check/verify_runs.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// All that `verify` has to say about one description.
struct FileReport {
  std::string file;                    ///< As the user named it, or "standard input".
  std::string source;                  ///< Its text.
  std::vector<Diagnostic> complaints;  ///< Not empty: refused, nothing was solved.
  std::optional<Circuit> circuit;      ///< Nothing when refused.
  Verification verification;           ///< Points into `circuit`.
  std::vector<RunResult> runs;         ///< Point into `circuit`.
};

/// The worst verdict of all states and runs.
[[nodiscard]] Verdict verdict_of(const FileReport& report);

/// The word for a verdict: "good", "caution", "fault", "disagreement", "engine-failed",
/// "nodal-failed".
[[nodiscard]] std::string_view word(Verdict verdict);

/// "fault", "caution" or "note".
[[nodiscard]] std::string_view word(Severity severity);

}  // namespace benchproof
