#include "core/nodal/detail/matrix.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace benchproof {

Matrix::Matrix(int size, const std::vector<std::pair<int, int>>& entries)
    : size_(size) {
  if (size <= BitLu::kMost) {
    std::vector<std::uint64_t> pattern(size, 0);
    for (const auto& [row, column] : entries)
      pattern[row] |= std::uint64_t{1} << column;
    small_.emplace(std::move(pattern));
    slots_ = small_->entries();
    return;
  }
  std::vector<Eigen::Triplet<double>> triplets;
  triplets.reserve(entries.size());
  for (const auto& [row, column] : entries) triplets.emplace_back(row, column, 1.0);
  sparse_.resize(size, size);
  sparse_.setFromTriplets(triplets.begin(), triplets.end());
  sparse_.makeCompressed();
  slots_ = static_cast<int>(sparse_.nonZeros());
  large_.analyzePattern(sparse_);
}

int Matrix::slot(int row, int column) const {
  if (small_) return small_->index(row, column);
  const int* begin = sparse_.innerIndexPtr() + sparse_.outerIndexPtr()[column];
  const int* end = sparse_.innerIndexPtr() + sparse_.outerIndexPtr()[column + 1];
  const int* found = std::lower_bound(begin, end, row);
  assert(found != end && *found == row && "an entry outside the pattern");
  return static_cast<int>(found - sparse_.innerIndexPtr());
}

int Matrix::solve(double* a, double* b, double* x) {
  if (small_) return small_->solve(a, b, x);
  std::copy(a, a + slots_, sparse_.valuePtr());
  large_.factorize(sparse_);
  if (large_.info() != Eigen::Success) {
    // The factorisation does not tell the column as a number; the smallest row will do.
    std::vector<double> largest(size_, 0.0);
    for (int column = 0; column < size_; ++column) {
      for (Eigen::SparseMatrix<double>::InnerIterator it(sparse_, column); it; ++it) {
        largest[it.row()] = std::max(largest[it.row()], std::abs(it.value()));
      }
    }
    return static_cast<int>(std::min_element(largest.begin(), largest.end()) -
                            largest.begin());
  }
  const Eigen::Map<const Eigen::VectorXd> right(b, size_);
  Eigen::Map<Eigen::VectorXd>(x, size_) = large_.solve(right);
  return -1;
}

}  // namespace benchproof
