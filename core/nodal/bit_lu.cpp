#include "core/nodal/detail/bit_lu.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace benchproof {

BitLu::BitLu(std::vector<std::uint64_t> pattern)
    : size_(static_cast<int>(pattern.size())), place_(pattern.size()) {
  assert(size_ <= kMost && "a larger system needs the sparse solver");
  // Minimum degree on the symmetric pattern.
  std::array<std::uint64_t, kMost> graph{};
  for (int r = 0; r < size_; ++r) {
    graph[r] |= pattern[r] | (std::uint64_t{1} << r);
    for (std::uint64_t rest = pattern[r]; rest != 0; rest &= rest - 1) {
      graph[std::countr_zero(rest)] |= std::uint64_t{1} << r;
    }
  }
  std::uint64_t left =
      size_ == kMost ? ~std::uint64_t{0} : (std::uint64_t{1} << size_) - 1;
  unknown_.reserve(size_);
  while (left != 0) {
    int best = -1;
    int fewest = kMost + 1;
    for (std::uint64_t rest = left; rest != 0; rest &= rest - 1) {
      const int node = std::countr_zero(rest);
      const int degree = std::popcount(graph[node] & left);
      if (degree < fewest) {
        fewest = degree;
        best = node;
      }
    }
    assert(best >= 0 && "no node left has fewer than 65 neighbours");
    left &= ~(std::uint64_t{1} << best);
    const std::uint64_t neighbours = graph[best] & left;
    for (std::uint64_t rest = neighbours; rest != 0; rest &= rest - 1) {
      graph[std::countr_zero(rest)] |= neighbours;
    }
    place_[best] = static_cast<int>(unknown_.size());
    unknown_.push_back(best);
  }
  pattern_.assign(size_, 0);
  transposed_.assign(size_, 0);
  for (int r = 0; r < size_; ++r) {
    for (std::uint64_t rest = pattern[r]; rest != 0; rest &= rest - 1) {
      const int column = place_[std::countr_zero(rest)];
      pattern_[r] |= std::uint64_t{1} << column;
      transposed_[column] |= std::uint64_t{1} << r;
    }
  }
}

int BitLu::solve(double* a, double* b, double* x) const {
  std::array<std::uint64_t, kMost> mask;     // Columns of a row that are not 0.
  std::array<std::uint64_t, kMost> in_rows;  // Rows of a column that are not.
  std::array<int, kMost> pivot_row;
  const std::ptrdiff_t stride = size_;
  std::copy(pattern_.begin(), pattern_.end(), mask.begin());
  std::copy(transposed_.begin(), transposed_.end(), in_rows.begin());
  std::uint64_t rows =
      size_ == kMost ? ~std::uint64_t{0} : (std::uint64_t{1} << size_) - 1;
  for (int k = 0; k < size_; ++k) {
    const std::uint64_t bit = std::uint64_t{1} << k;
    std::array<int, kMost> candidates;
    int count = 0;
    double largest = 0.0;
    for (std::uint64_t rest = rows & in_rows[k]; rest != 0; rest &= rest - 1) {
      const int r = std::countr_zero(rest);
      const double size = std::abs(a[r * stride + k]);
      if (size == 0.0) continue;
      candidates[count++] = r;
      if (size > largest) largest = size;
    }
    if (!(largest > 0.0) || !std::isfinite(largest)) return unknown_[k];
    int pivot = -1;
    int fewest = kMost + 1;
    for (int c = 0; c < count; ++c) {
      const int r = candidates[c];
      if (!(std::abs(a[r * stride + k]) >= 0.1 * largest)) continue;
      const int entries = std::popcount(mask[r]);
      if (entries < fewest) {
        fewest = entries;
        pivot = r;
      }
    }
    assert(pivot >= 0 && "the largest entry is itself no candidate");
    pivot_row[k] = pivot;
    rows &= ~(std::uint64_t{1} << pivot);
    const double* row = a + pivot * stride;
    const std::uint64_t beyond = mask[pivot] & ~bit & ~(bit - 1);
    mask[pivot] = beyond;
    std::array<int, kMost> columns;
    int width = 0;
    for (std::uint64_t rest = beyond; rest != 0; rest &= rest - 1)
      columns[width++] = std::countr_zero(rest);
    const double inverse = 1.0 / row[k];
    for (int c = 0; c < count; ++c) {
      const int r = candidates[c];
      if (r == pivot) continue;
      double* target = a + r * stride;
      const double factor = target[k] * inverse;
      for (int j = 0; j < width; ++j) target[columns[j]] -= factor * row[columns[j]];
      b[r] -= factor * b[pivot];
      for (std::uint64_t rest = beyond & ~mask[r]; rest != 0; rest &= rest - 1)
        in_rows[std::countr_zero(rest)] |= std::uint64_t{1} << r;
      mask[r] = (mask[r] | beyond) & ~bit;
    }
  }
  std::array<double, kMost> y;
  for (int k = size_ - 1; k >= 0; --k) {
    const int r = pivot_row[k];
    const double* row = a + r * stride;
    double sum = b[r];
    for (std::uint64_t rest = mask[r]; rest != 0; rest &= rest - 1) {
      const int column = std::countr_zero(rest);
      sum -= row[column] * y[column];
    }
    y[k] = sum / row[k];
    x[unknown_[k]] = y[k];
  }
  return -1;
}

}  // namespace benchproof
