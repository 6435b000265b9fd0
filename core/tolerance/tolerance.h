#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/copy/spreads.h"
#include "core/tolerance/runs/run_tolerance.h"
#include "core/tolerance/states/copies.h"
#include "core/tolerance/states/gauge_tolerance.h"
#include "core/verify/verify.h"

namespace benchproof {

/// A state of which copies were measured.
struct StateTolerance {
  std::string name;
  Verdict verdict = Verdict::good;  ///< As described.
  std::vector<GaugeTolerance> gauges;
};

/// A change that lets more copies work.
struct Help {
  std::string change;  ///< "quay1_r.tolerance=1%".
  double share = 0.0;  ///< Of the copies that work then.
};

/// Failing copies that were judged once more in the usual way.
struct JudgedAgain {
  std::size_t asked = 0;  ///< Of the nodal witness ...
  std::size_t fail = 0;   ///< ... and fail there too.
  std::size_t asked_both = 0;
  std::size_t fail_both = 0;
};

struct ToleranceWishes {
  std::size_t copies = 100'000;
  std::uint64_t seed = 1;
};

struct ToleranceResult {
  std::vector<Spread> spreads;
  /// Of each spread whether it moves anything in a state at rest.
  std::vector<bool> matters;
  std::uint64_t seed = 1;
  std::size_t copies = 0;
  std::size_t works = 0;
  std::size_t unsolved = 0;
  std::size_t handed_on = 0;  ///< Networks that were solved by themselves ...
  std::size_t solved = 0;     ///< ... of so many.
  Share yield;                ///< The share of copies that work, in all states.
  std::vector<StateTolerance> states;
  std::vector<std::string> left_out;  ///< States on which the witnesses do not agree.
  /// Of the first copies, up to kMostInRuns, whether any state fails.
  std::vector<char> fails_at_rest;
  RunsTolerance runs;  ///< Empty where no run was looked at.
  JudgedAgain again;
  std::vector<Help> helps;  ///< Best first; none where all copies work.
};

/// What spread brings, of the states that were judged; runs are left to
/// tolerance_of_runs. Both witnesses are asked by one thread at a time, while others
/// measure copies.
[[nodiscard]] ToleranceResult tolerance(const Circuit& circuit,
                                        const Verification& nominal,
                                        const ToleranceWishes& wishes,
                                        const Solve& engine, const Solve& nodal,
                                        const SideBySide& side_by_side);

}  // namespace benchproof
