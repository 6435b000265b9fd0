#pragma once

#include <string>
#include <vector>

#include "core/check/run_agreement.h"
#include "core/check/run_expectations.h"
#include "core/check/verify.h"
#include "core/circuit/circuit.h"
#include "core/network/timeline.h"

namespace benchproof {

/// All that is known of one run.
struct RunResult {
  std::string name;
  const Run* run = nullptr;  ///< In the circuit.
  Timeline timeline;
  Waveform engine;
  Waveform nodal;  ///< Has every time of the engine's among its own.
  RunAgreement agreement;
  std::vector<RunExpectationResult> expectations;
  /// Sorted; unless the witnesses agree, at most that nothing limits a current.
  std::vector<Finding> findings;
  std::vector<HandResult> by_hand;
  Verdict verdict = Verdict::good;
};

/// Solves a run with both witnesses, and where they agree checks what happens in it and
/// holds its expectations.
[[nodiscard]] RunResult verify_run(const Circuit& circuit, int run,
                                   const SolveInTime& engine, const SolveInTime& nodal);

/// The same by one witness alone, for looking around: nothing is compared, and what it
/// has no answer to has the verdict of a witness that failed.
[[nodiscard]] RunResult look_at_run(const Circuit& circuit, int run,
                                    const SolveInTime& witness);

/// The same for what both witnesses have said of the run's timeline.
[[nodiscard]] RunResult judge_run(const Circuit& circuit, int run, Timeline timeline,
                                  Hearing heard);

/// Every run (or only those named in `only`), in the description's order.
[[nodiscard]] std::vector<RunResult> verify_runs(
    const Circuit& circuit, const SolveInTime& engine, const SolveInTime& nodal,
    const std::vector<std::string>& only = {});

}  // namespace benchproof
