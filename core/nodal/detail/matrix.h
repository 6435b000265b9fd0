#pragma once

#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "core/nodal/detail/bit_lu.h"

namespace benchproof {

/// A square system of fixed pattern whose entries are set through slots. Small ones are
/// solved by BitLu, larger ones by Eigen's SparseLU; the two look the same from
/// outside.
class Matrix {
 public:
  /// `entries`: (row, column) of every entry that may be nonzero, repeats allowed.
  Matrix(int size, const std::vector<std::pair<int, int>>& entries);
  ~Matrix();
  Matrix(Matrix&&) noexcept;
  Matrix& operator=(Matrix&&) noexcept;

  [[nodiscard]] int size() const { return size_; }
  /// Number of doubles that hold the entries.
  [[nodiscard]] int slots() const { return slots_; }
  /// Where entry (row, column), which must be in the pattern, stands among them.
  [[nodiscard]] int slot(int row, int column) const;

  /// Solves A x = b with the entries `a`; `a` and `b` are overwritten. Returns -1, or
  /// an unknown at which the matrix is singular.
  [[nodiscard]] int solve(double* a, double* b, double* x);

 private:
  struct Sparse;  ///< Eigen's types: its headers take long to compile.

  int size_ = 0;
  int slots_ = 0;
  std::optional<BitLu> small_;
  std::unique_ptr<Sparse> large_;  ///< Null where the system is small.
};

}  // namespace benchproof
