#pragma once

#include <memory>
#include <utility>
#include <vector>

#include "core/nodal/detail/elimination.h"
#include "core/nodal/detail/pivots.h"

namespace benchproof {

/// A square system of fixed pattern whose entries are set through slots. Pivots are
/// chosen when it is first solved; what they make to calculate is worked out and run
/// for other entries too, until one of these pivots has become far too small for them.
/// A pivot that is too small makes the step to the solution less exact, but what is
/// left is always that of the entries themselves, so that another step mends it [Higham
/// 2002, "Accuracy and Stability of Numerical Algorithms", ch. 12].
class Matrix {
 public:
  /// `entries`: (row, column) of every entry that may be nonzero, repeats allowed.
  Matrix(int size, const std::vector<std::pair<int, int>>& entries);
  Matrix(const Matrix&) = delete;  // Its pivots are searched in its pattern.
  Matrix& operator=(const Matrix&) = delete;

  [[nodiscard]] int size() const { return pattern_.size(); }
  /// Number of doubles that hold the entries.
  [[nodiscard]] int slots() const { return pattern_.entries(); }
  /// Where entry (row, column), which must be in the pattern, stands among them.
  [[nodiscard]] int slot(int row, int column) const;

  /// Goes from `x` to the solution of A x = b with the entries `a`. Returns -1, or an
  /// unknown at which the matrix is singular or which is not finite.
  [[nodiscard]] int solve(const double* a, const double* b, double* x);

  /// Solves A s = left with the entries `a`, as exactly as the kept pivots are good.
  /// Returns as `solve` does.
  [[nodiscard]] int step(const double* a, const double* left, double* s);

  /// Solves the transposed system A' y = c for `sides` right-hand sides, which `c` and
  /// `y` hold side by side for each row. Returns as `solve` does.
  [[nodiscard]] int solve_transposed(const double* a, int sides, const double* c,
                                     double* y);

  [[nodiscard]] const Pattern& pattern() const { return pattern_; }
  /// What the pivots used last make to calculate. There must have been a solution.
  [[nodiscard]] const Elimination& elimination() const { return known_.front(); }

  /// How often pivots were chosen.
  [[nodiscard]] int pivotings() const { return pivotings_; }

 private:
  [[nodiscard]] bool step_by(const Elimination& by, const double* a, const double* left,
                             double* s);

  Pattern pattern_;
  std::unique_ptr<PivotSearch> search_;
  std::vector<Elimination> known_;  ///< The one used last first.
  std::vector<double> work_;        ///< Of the system solved last, its factors.
  std::vector<double> right_;
  std::vector<double> left_;
  std::vector<double> step_;
  int pivotings_ = 0;
};

}  // namespace benchproof
