#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/regress/case_record.h"
#include "core/regress/recorded.h"
#include "core/verify/runs/verify_runs.h"
#include "core/verify/verify.h"

namespace benchproof {

/// How near something came to a limit that it keeps.
struct NearLimit {
  double share = 0.0;  ///< What is left of the limit; 0 is at it.
  std::string what;    ///< "quay: led-current, continuous rating"
};

/// What became of a state or a run.
struct CaseOutcome {
  CaseName name;
  Verdict verdict = Verdict::good;
  std::vector<std::string> problems;  ///< Why the verdict is no better than a fault.
  std::vector<Moved> moved;           ///< What is not as recorded.
  int expectations = 0;               ///< Held against it.
  int published = 0;  ///< Of these, how many name a source that was read.
  std::optional<NearLimit> nearest;
};

/// What a record has to do with a circuit.
enum class Recording {
  none,       ///< There is no record.
  compared,   ///< Results were held against it.
  written,    ///< It was written or replaced.
  unchanged,  ///< It would have been written as it stands.
  withheld    ///< It should have been written, but not every case passed.
};

/// What became of one description with all its states, runs and variants.
struct CircuitOutcome {
  std::string file;
  std::vector<std::string> complaints;  ///< Why it was refused, a line each.
  /// Why something beside the verdict failed: the record, the engine's start.
  std::string trouble;
  /// The trouble is that there was no answer to be had: too little memory, say.
  bool is_unanswered = false;
  std::vector<CaseOutcome> cases;
  std::vector<CaseName> gone;  ///< Recorded, but not described any more.
  Recording recording = Recording::none;
  bool is_kept = false;  ///< Not solved now: known from an earlier run.
};

/// A description in one variant, or in none, that was read and judged.
struct JudgedVersion {
  const Circuit* circuit = nullptr;
  const Verification* verification = nullptr;
  const std::vector<RunResult>* runs = nullptr;
};

/// The outcome of each state and run of a version.
[[nodiscard]] std::vector<CaseOutcome> case_outcomes(const JudgedVersion& version);

/// Holds cases against what was recorded of them: fills `moved` of each outcome, and
/// `gone`. A case that is not recorded has moved.
void hold_against(const Recorded& recorded, const std::vector<CaseRecord>& now,
                  CircuitOutcome& outcome);

/// Whether a case has neither a fault nor anything that moved.
[[nodiscard]] bool passes(const CaseOutcome& outcome);

/// Whether all of a description passed.
[[nodiscard]] bool passes(const CircuitOutcome& outcome);

}  // namespace benchproof
