#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/runs/copied_run.h"
#include "core/tolerance/states/gauge_tolerance.h"
#include "core/verify/runs/verify_runs.h"

namespace benchproof {

/// A fault in copies of a run that is no gauge's.
struct SpoiledRun {
  RunFault fault;
  std::size_t copies = 0;  ///< In which it is; 0: at a corner only.
};

/// A run of which copies were measured.
struct RunTolerance {
  std::string name;
  Verdict verdict = Verdict::good;     ///< As described.
  std::vector<GaugeTolerance> gauges;  ///< Figures of the copies are of these below.
  std::vector<SpoiledRun> faults;      ///< The most frequent first.
  std::size_t unsolved = 0;            ///< Copies in which a witness has no answer ...
  std::string reason;                  ///< ... and why, of the first one or a corner.
};

/// What spread brings in runs.
struct RunsTolerance {
  std::size_t copies = 0;        ///< The first ones of the series.
  std::size_t works = 0;         ///< Of them those in which no run fails ...
  std::size_t works_in_all = 0;  ///< ... and no state at rest either.
  Share yield;                   ///< Of works_in_all.
  std::vector<RunTolerance> runs;
  std::vector<std::string> left_out;  ///< Runs on which the witnesses do not agree.
  std::size_t asked_both = 0;         ///< Failing copies that were judged by both ...
  std::size_t fail_both = 0;          ///< ... and fail there too.
};

struct RunWishes {
  /// How many copies go through the runs, kMostInRuns at most; nothing: as many as take
  /// about kRunPoints points in time, kFewestInRuns to kUsualInRuns.
  std::optional<std::size_t> copies;
  std::uint64_t seed = 1;
};

inline constexpr std::size_t kRunPoints = 200'000;
inline constexpr std::size_t kFewestInRuns = 20;
inline constexpr std::size_t kUsualInRuns = 200;

/// Who is asked about runs, and how many at once. `nodal` may be asked by several
/// threads.
struct RunWitnesses {
  SolveInTime engine;
  SolveInTime nodal;
  RunsAtOnce at_once;
};

/// What spread brings in the runs that were judged. `fails_at_rest` tells it of each of
/// the first copies; no more of them than these go through the runs.
[[nodiscard]] RunsTolerance tolerance_of_runs(const Circuit& circuit,
                                              const std::vector<RunResult>& nominal,
                                              const std::vector<char>& fails_at_rest,
                                              const RunWishes& wishes,
                                              const RunWitnesses& by);

}  // namespace benchproof
