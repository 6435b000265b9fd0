#pragma once

#include <cstddef>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/runs/copied_run.h"
#include "core/tolerance/states/worst_case.h"

namespace benchproof {

/// Finds the worst cases of a run by solving it. Each draw is moved alone to both ends,
/// and all of them to where these say that it is worst, between the ends where a
/// parabola through three points turns. Where what comes is not the sum of what each
/// draw does alone, or one turns round, the strongest are moved on while that brings
/// something. What was seen of copies counts, too.
class RunSearch {
 public:
  /// A limit of a gauge: the end of it that is looked for.
  struct Side {
    std::size_t gauge = 0;
    double sign = 1.0;  ///< -1: the least is looked for.
    double best = 0.0;  ///< sign * value.
    std::vector<double> places;
  };

  /// All must outlive it. `nodal` may be asked by several threads at once.
  RunSearch(const CopiedRun& run, const SolveInTime& nodal,
            const SideBySide& side_by_side);

  /// Something that is known already.
  void add(const std::vector<double>& places, SeenRun seen);

  /// The worst cases of all gauges, without the witnesses' word. What has no limit on a
  /// side is there as it was seen to be at most.
  /// @pre The run as described is solved.
  [[nodiscard]] std::vector<WorstCase> search();

  /// The corners that search() found, after it.
  [[nodiscard]] const std::vector<Side>& sides() const { return sides_; }
  /// The faults that are no gauge's, wherever it was looked.
  [[nodiscard]] std::set<RunFault> faults() const;
  /// Why a witness has no answer at some place that was looked at; empty if it has.
  [[nodiscard]] std::string unsolved() const;

 private:
  using Places = std::vector<double>;
  /// What a draw does to a gauge alone, as a parabola about the middle of its way.
  struct Course;

  void solve(const std::vector<Places>& points);
  void take(const Places& places, const SeenRun& seen);
  [[nodiscard]] double value(const Places& places, std::size_t gauge) const;
  [[nodiscard]] Places with(Places places, std::size_t draw, double place) const;
  [[nodiscard]] Course course(std::size_t draw, std::size_t gauge) const;
  void solve_corners();
  void go_on();
  [[nodiscard]] std::vector<Places> nearby(const Side& side) const;
  void describe(std::vector<WorstCase>& worst) const;
  void put_ends(std::vector<WorstCase>& worst) const;

  const CopiedRun& run_;
  const SolveInTime& nodal_;
  const SideBySide& side_by_side_;
  std::vector<std::vector<std::size_t>> draws_;
  Places nominal_;
  std::map<Places, SeenRun> known_;
  std::vector<Side> sides_;
  std::vector<bool> goes_on_;  ///< Of each side, whether its corner alone will not do.
};

}  // namespace benchproof
