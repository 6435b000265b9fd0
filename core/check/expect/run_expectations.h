#pragma once

#include <limits>
#include <optional>
#include <vector>

#include "core/check/finding/finding.h"
#include "core/check/time/periods.h"
#include "core/circuit/circuit.h"
#include "core/network/record.h"

namespace benchproof {

/// One run expectation as one witness has it.
struct RunMeasure {
  /// The figure asked for; the time of a crossing; the value farthest out of bounds, or
  /// nearest to them. Not a number where nothing was found.
  double value = std::numeric_limits<double>::quiet_NaN();
  double seconds = 0.0;  ///< When, for what `stays` asks and for a peak.
  /// Never crossed, but on the far side from the beginning.
  bool is_there_already = false;
  bool holds = false;
};

/// One expectation held against a run.
struct RunExpectationResult {
  const Expectation* expectation = nullptr;  ///< In the circuit.
  RunMeasure engine;
  RunMeasure nodal;
  bool holds = false;  ///< For both, and both tell a crossing at the same time.
};

/// The quantity's course that an expectation is about.
[[nodiscard]] Trace trace_of(const Circuit& circuit, const Record& record,
                             const Expectation& expectation);

/// One expectation of a run as one witness has it.
[[nodiscard]] RunMeasure measured(const Circuit& circuit, const Record& record,
                                  const Expectation& expectation);

/// The lowest and the highest over the stretch that `stays` is asked of.
/// @pre The expectation has a `stays`.
[[nodiscard]] Extremes extremes_of_stay(const Trace& trace,
                                        const Expectation& expectation, const Run& run);

/// "ripple", "average", "peak" ...
[[nodiscard]] std::string_view word_of(RunFigure figure);

/// Holds the expectations of a run against what both witnesses saw. Bounds are held to
/// what the witnesses may differ by (see RunAgreement): a value that passes for one and
/// fails for the other fails.
[[nodiscard]] std::vector<RunExpectationResult> hold_run_expectations(
    const Circuit& circuit, int run, const Record& engine, const Record& nodal);

/// A fault for each that does not hold.
[[nodiscard]] std::vector<Finding> failed_run_expectations(
    const Circuit& circuit, const std::vector<RunExpectationResult>& results);

/// "reaches 4.5 V upwards before 60 ms", "stays above 4.3 V after 60 ms", "average".
[[nodiscard]] std::string demand_text(const Expectation& expectation);

/// "46.2 ms", "4.87 V at 3 ms", "never".
[[nodiscard]] std::string measure_text(const Expectation& expectation,
                                       const RunMeasure& measure);

}  // namespace benchproof
