#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/check/agree/run_agreement.h"
#include "core/check/expect/run_expectations.h"
#include "core/circuit/circuit.h"
#include "core/network/timeline.h"
#include "core/network/witnesses.h"
#include "core/verify/seen/state_result.h"

namespace benchproof {

/// What the voltage of a net does in a run, straight between the waveform's points.
/// Volt.
struct NetCourse {
  double first = 0.0;
  double least = 0.0;
  double most = 0.0;
  double mean = 0.0;
  double last = 0.0;
};

/// The lowest and highest current into a pin, without what charges strays. Ampere.
struct PinCourse {
  double least = 0.0;
  double most = 0.0;
};

/// All that is known of one run.
struct RunResult {
  std::string name;
  const Run* run = nullptr;  ///< In the circuit.
  Timeline timeline;
  Waveform engine;
  Waveform nodal;                 ///< Has every time of the engine's among its own.
  std::size_t engine_points = 0;  ///< Also when they are let go of.
  std::size_t nodal_points = 0;
  std::vector<NetCourse> courses;  ///< By the nodal witness; empty unless they agree.
  std::vector<std::vector<PinCourse>> pins;  ///< [part][pin], likewise.
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

/// Solves a run with one witness alone, for a search: a power of ten less exactly than
/// `verify_run`, nothing is compared, and what it has no answer to has the verdict of a
/// witness that failed.
[[nodiscard]] RunResult judge_run_by_one(const Circuit& circuit, int run,
                                         const SolveInTime& witness);

/// What no witness can answer about a timeline of a run; empty where they can.
[[nodiscard]] std::vector<Finding> unanswerable_in(const Circuit& circuit,
                                                   const Timeline& timeline);

/// Both witnesses about a timeline of the run, or one alone, which then stands for both
/// (see judge_run_by_one).
/// @pre Nothing in it is unanswerable.
[[nodiscard]] Hearing hear_both(const Circuit& circuit, int run,
                                const Timeline& timeline, const SolveInTime& engine,
                                const SolveInTime& nodal);
[[nodiscard]] Hearing hear_one(const Circuit& circuit, int run,
                               const Timeline& timeline, const SolveInTime& witness);

/// The parts as the run's last state has them, or as described where it is unpowered.
[[nodiscard]] std::vector<Part> last_parts(const Circuit& circuit, const Run& run);

/// Judges what both witnesses have said of the run's timeline.
[[nodiscard]] RunResult judge_run(const Circuit& circuit, int run, Timeline timeline,
                                  Hearing heard);

/// Frees the points of a run's waveforms, and keeps all else that is known of it: those
/// of many runs are more than a memory may hold.
void let_go_of_waveforms(RunResult& run);

/// How several runs are judged at once: the first job asks the engine that is there,
/// once it has done what comes `first`; each other one an engine that it has made for
/// itself.
struct RunsAtOnce {
  SideBySide side_by_side;
  std::function<SolveInTime()> another_engine;
  std::function<void()> first = {};  ///< May ask the engine, too; or nothing.
};

/// Every run (or only those named in `only`), in the description's order, each let go
/// of when it is judged; one after the other, or several at once, kMostEngines at most.
[[nodiscard]] std::vector<RunResult> verify_runs(
    const Circuit& circuit, const SolveInTime& engine, const SolveInTime& nodal,
    const std::vector<std::string>& only = {},
    const std::optional<RunsAtOnce>& at_once = {});

inline constexpr std::size_t kMostEngines = 4;

}  // namespace benchproof
