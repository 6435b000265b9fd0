#pragma once

#include <array>
#include <cstdint>
#include <vector>

namespace benchproof {

/// Gaussian elimination for small sparse systems: rows are dense in memory, but a bit
/// mask per row says which columns can be nonzero, and only those are touched. A
/// circuit's matrix has three or four entries a row, so that this does a tenth of the
/// work of a dense factorisation and needs no symbolic phase.
///
/// Columns are eliminated in the order given at construction (fewest neighbours first);
/// rows are chosen by threshold pivoting: among those whose entry is at least a tenth
/// of the column's largest, the one with fewest entries [Duff, Erisman, Reid, "Direct
/// Methods for Sparse Matrices", 2nd ed., sec. 7.3].
class BitLu {
 public:
  static constexpr int kMost = 64;  ///< Largest system: one mask word a row.

  /// `pattern[r]` has bit c set where entry (r, c) may be nonzero. At most kMost rows.
  explicit BitLu(std::vector<std::uint64_t> pattern);

  [[nodiscard]] int size() const { return size_; }

  /// Index of entry (row, column) in the array that `solve` takes.
  [[nodiscard]] int index(int row, int column) const {
    return row * size_ + place_[column];
  }
  [[nodiscard]] int entries() const { return size_ * size_; }

  /// Solves A x = b. `a` holds the entries (see `index`; those outside the pattern are
  /// 0) and is overwritten, as is `b`; `x` gets the solution. Returns -1, or the
  /// unknown for which no pivot above 0 was left: the matrix is singular.
  [[nodiscard]] int solve(double* a, double* b, double* x) const;

 private:
  int size_ = 0;
  std::vector<std::uint64_t> pattern_;     ///< By row, columns in elimination order.
  std::vector<std::uint64_t> transposed_;  ///< By column in that order, its rows.
  std::vector<int> place_;                 ///< Unknown -> its place in the order.
  std::vector<int> unknown_;               ///< Place -> unknown.
};

}  // namespace benchproof
