#include "core/nodal/detail/matrix.h"

#include <Eigen/SparseLU>
#include <algorithm>
#include <cassert>
#include <cmath>

namespace benchproof {

struct Matrix::Sparse {
  Sparse(int size, const std::vector<std::pair<int, int>>& pattern);
  [[nodiscard]] int slot(int row, int column) const;
  [[nodiscard]] int solve(const double* a, const double* b, double* x);
  [[nodiscard]] int weakest_row() const;

  Eigen::SparseMatrix<double> entries;
  Eigen::SparseLU<Eigen::SparseMatrix<double>> lu;
};

Matrix::Sparse::Sparse(int size, const std::vector<std::pair<int, int>>& pattern) {
  std::vector<Eigen::Triplet<double>> triplets;
  triplets.reserve(pattern.size());
  for (const auto& [row, column] : pattern) triplets.emplace_back(row, column, 1.0);
  entries.resize(size, size);
  entries.setFromTriplets(triplets.begin(), triplets.end());
  entries.makeCompressed();
  lu.analyzePattern(entries);
}

int Matrix::Sparse::slot(int row, int column) const {
  const int* begin = entries.innerIndexPtr() + entries.outerIndexPtr()[column];
  const int* end = entries.innerIndexPtr() + entries.outerIndexPtr()[column + 1];
  const int* found = std::lower_bound(begin, end, row);
  assert(found != end && *found == row && "an entry outside the pattern");
  return static_cast<int>(found - entries.innerIndexPtr());
}

int Matrix::Sparse::solve(const double* a, const double* b, double* x) {
  std::copy(a, a + entries.nonZeros(), entries.valuePtr());
  lu.factorize(entries);
  if (lu.info() != Eigen::Success) return weakest_row();
  const auto size = entries.rows();
  const Eigen::Map<const Eigen::VectorXd> right(b, size);
  Eigen::Map<Eigen::VectorXd>(x, size) = lu.solve(right);
  return -1;
}

/// The row whose largest entry is the smallest: what stands for the unknown at which
/// the matrix is singular, since the factorisation does not tell that as a number.
int Matrix::Sparse::weakest_row() const {
  std::vector<double> largest(entries.rows(), 0.0);
  for (int column = 0; column < entries.cols(); ++column) {
    for (Eigen::SparseMatrix<double>::InnerIterator it(entries, column); it; ++it) {
      largest[it.row()] = std::max(largest[it.row()], std::abs(it.value()));
    }
  }
  return static_cast<int>(std::min_element(largest.begin(), largest.end()) -
                          largest.begin());
}

Matrix::Matrix(int size, const std::vector<std::pair<int, int>>& entries)
    : size_(size) {
  if (size > BitLu::kMost) {
    large_ = std::make_unique<Sparse>(size, entries);
    slots_ = static_cast<int>(large_->entries.nonZeros());
    return;
  }
  std::vector<std::uint64_t> pattern(size, 0);
  for (const auto& [row, column] : entries) pattern[row] |= std::uint64_t{1} << column;
  small_.emplace(std::move(pattern));
  slots_ = small_->entries();
}

Matrix::~Matrix() = default;
Matrix::Matrix(Matrix&&) noexcept = default;
Matrix& Matrix::operator=(Matrix&&) noexcept = default;

int Matrix::slot(int row, int column) const {
  return small_ ? small_->index(row, column) : large_->slot(row, column);
}

int Matrix::solve(double* a, double* b, double* x) {
  return small_ ? small_->solve(a, b, x) : large_->solve(a, b, x);
}

}  // namespace benchproof
