#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "core/network/network.h"
#include "core/nodal/nodal_solver.h"

namespace benchproof {

/// What a NodalWitness was asked, and what that took.
struct NodalCounts {
  std::size_t solvers = 0;     ///< Solvers made: one for each structure that was new.
  std::size_t cold = 0;        ///< Networks solved from a cold start.
  std::size_t near = 0;        ///< Networks solved from an earlier solution.
  std::size_t iterations = 0;  ///< Newton steps of all together.
};

/// Nodal solvers of the structures met last, each with the solutions it found last.
class NodalWitness {
 public:
  /// As many solvers are kept; the one that was least recently used goes first.
  static constexpr std::size_t kMostSolvers = 8;
  /// As many solutions are kept of each structure: networks of several kinds may come
  /// in turn, the phases of PWM, each as described and with strong pins.
  static constexpr std::size_t kMostStarts = 4;

  /// Solves from a cold start, so that no result depends on the order.
  [[nodiscard]] Solution solve(const Network& network);

  /// Solves from the kept solution of that structure whose network has the nearest
  /// values, or from a cold start where there is none. A circuit with several stable
  /// states may answer with another one than from a cold start.
  [[nodiscard]] Solution solve_near(const Network& network);

  [[nodiscard]] const NodalCounts& counts() const { return counts_; }

 private:
  /// A network that was solved.
  struct Start {
    std::vector<double> ohms;
    std::vector<double> volts;
    std::vector<double> amps;
    Solution solution;
  };
  struct Known {
    std::shared_ptr<const Structure> structure;
    NodalSolver solver;
    std::vector<Start> starts;  ///< The latest last.
  };

  static const Solution* nearest(const std::vector<Start>& starts,
                                 const Values& values);
  Known& known(const Network& network);

  std::vector<Known> known_;  ///< The latest last.
  NodalCounts counts_;
};

}  // namespace benchproof
