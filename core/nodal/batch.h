#pragma once

#include <cstddef>
#include <functional>
#include <memory>

#include "core/network/network.h"

namespace benchproof {

/// Solves many networks of one structure at rest, several side by side.
///
/// Each lane of the processor's vectors is one network; all of them take the same steps
/// of Newton's method, with the device equations and stamps of NodalSolver, the pivots
/// of the nominal network and its solution as the start. A lane that does not settle,
/// for which these pivots are too small, or whose currents leave something over is
/// handed on to NodalSolver, which starts cold.
class BatchSolver {
 public:
  /// `known`, where given, is what NodalSolver finds of it: it need not be found again.
  /// @throws std::invalid_argument on a network that breaks the rules of check_network.
  explicit BatchSolver(const Network& nominal, const Solution* known = nullptr);
  ~BatchSolver();
  BatchSolver(BatchSolver&&) noexcept;
  BatchSolver& operator=(BatchSolver&&) noexcept;

  /// How many networks are solved side by side on this machine.
  [[nodiscard]] std::size_t lanes() const;

  /// Makes of the nominal network, or of another copy, the k-th copy: what varies is
  /// written each time, the rest stays. The structure is not touched.
  using Fill = std::function<void(std::size_t k, Network& network)>;
  /// Is given each copy with its solution, in order. Both hold until it returns.
  using Look = std::function<void(std::size_t k, const Network& network,
                                  const Solution& solution)>;
  /// Solves copies `first` to `first + count - 1`.
  void solve(std::size_t first, std::size_t count, const Fill& fill, const Look& look);

  /// How many copies were solved so far, and how many of them were handed on.
  struct Counts {
    std::size_t copies = 0;
    std::size_t handed_on = 0;
  };
  [[nodiscard]] Counts counts() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace benchproof
