#pragma once

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/nodal/detail/pivots.h"

namespace benchproof {

/// Gaussian elimination of one sparse pattern in one order of pivots: what has to be
/// done with which entry is worked out once, when it is made, so that a run of it only
/// calculates. Whoever chose the pivots is told how good they still are.
class Elimination {
 public:
  /// What fills in beside the pattern stands after its entries.
  /// @pre There are as many pivots as the pattern has rows.
  Elimination(const Pattern& pattern, const Pivots& pivots);

  /// Places for entries, those that fill in included.
  [[nodiscard]] int slots() const { return slots_; }

  /// Solves A x = b. `a` holds the entries by slot (0 where they fill in); it is
  /// overwritten by the factors (see run_transposed), as is `b`. Returns the largest
  /// multiplier, in absolute value: how much larger an entry was than the pivot of its
  /// column. Not finite, or a NaN in `x`, where a pivot was 0. `Number` is a double or
  /// lanes of them, see core/device/number.h, with `larger` and `abs` beside it.
  template <class Number>
  Number run(Number* a, Number* b, Number* x) const;

  /// Solves the transposed system A' y = c for `sides` right-hand sides at once, by the
  /// factors that `run` left in `a`. `c` holds the right-hand sides of each unknown
  /// side by side and is overwritten, `y` so the solutions, of each row.
  void run_transposed(const double* a, int sides, double* c, double* y) const;

 private:
  int size_ = 0;
  int slots_ = 0;
  /// For each pivot: its slot and row, how many rows it is taken off and how many
  /// entries it has beyond itself, and their slots; for each of those rows its entry
  /// under the pivot, its number, and the slots that the pivot's entries meet.
  std::vector<int> steps_;
  /// For each pivot from the last to the first: its slot, row and unknown, how many
  /// entries it has beyond itself; for each of these its slot and unknown.
  std::vector<int> back_;
};

/// The larger one; a NaN in `b` stays.
inline double larger(double a, double b) { return b <= a ? a : b; }

template <class Number>
Number Elimination::run(Number* a, Number* b, Number* x) const {
  using std::abs;
  Number growth(0.0);
  const int* step = steps_.data();
  for (int k = 0; k < size_; ++k) {
    const int pivot = step[0];
    const int row = step[1];
    const int rows = step[2];
    const int width = step[3];
    const int* sources = step + 4;
    step = sources + width;
    const Number inverse = 1.0 / a[pivot];
    a[pivot] = inverse;
    for (int r = 0; r < rows; ++r) {
      const Number factor = a[step[0]] * inverse;
      growth = larger(growth, abs(factor));
      b[step[1]] = b[step[1]] - factor * b[row];
      const int* targets = step + 2;
      for (int j = 0; j < width; ++j) {
        a[targets[j]] = a[targets[j]] - factor * a[sources[j]];
      }
      step = targets + width;
    }
  }
  const int* back = back_.data();
  for (int k = 0; k < size_; ++k) {
    Number sum = b[back[1]];
    const int* entry = back + 4;
    const int* end = entry + 2 * back[3];
    for (; entry != end; entry += 2) sum = sum - a[entry[0]] * x[entry[1]];
    x[back[2]] = sum * a[back[0]];
    back = end;
  }
  return growth;
}

}  // namespace benchproof
