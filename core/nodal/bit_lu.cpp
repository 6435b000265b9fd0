#include "core/nodal/detail/bit_lu.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstddef>

namespace benchproof {
namespace {

using Mask = std::uint64_t;

constexpr Mask bit(int k) { return Mask{1} << k; }

/// The lowest `count` bits.
constexpr Mask first_bits(int count) {
  return count == BitLu::kMost ? ~Mask{0} : bit(count) - 1;
}

/// Calls visit(k) for every bit k of the mask, lowest first.
template <class Visit>
void each_bit(Mask mask, const Visit& visit) {
  for (; mask != 0; mask &= mask - 1) visit(std::countr_zero(mask));
}

/// The unknowns in the order of minimum degree on the symmetric pattern.
std::vector<int> elimination_order(const std::vector<Mask>& pattern) {
  const int size = static_cast<int>(pattern.size());
  std::array<Mask, BitLu::kMost> graph{};
  for (int r = 0; r < size; ++r) {
    graph[r] |= pattern[r] | bit(r);
    each_bit(pattern[r], [&](int c) { graph[c] |= bit(r); });
  }
  std::vector<int> order;
  order.reserve(size);
  Mask left = first_bits(size);
  while (left != 0) {
    int best = -1;
    int fewest = BitLu::kMost + 1;
    each_bit(left, [&](int node) {
      const int degree = std::popcount(graph[node] & left);
      if (degree < fewest) {
        fewest = degree;
        best = node;
      }
    });
    assert(best >= 0 && "no node left has fewer than 65 neighbours");
    left &= ~bit(best);
    const Mask neighbours = graph[best] & left;
    each_bit(neighbours, [&](int node) { graph[node] |= neighbours; });
    order.push_back(best);
  }
  return order;
}

/// One elimination: the entries, and which of them are in use.
class Elimination {
 public:
  Elimination(int size, double* a, double* b, const std::vector<Mask>& pattern,
              const std::vector<Mask>& transposed)
      : size_(size), stride_(size), a_(a), b_(b), rows_(first_bits(size)) {
    std::copy(pattern.begin(), pattern.end(), mask_.begin());
    std::copy(transposed.begin(), transposed.end(), in_rows_.begin());
  }

  /// Eliminates column `k` from the rows that are left. False if it has no pivot.
  bool eliminate(int k) {
    const Candidates candidates = candidates_of(k);
    if (!(candidates.largest > 0.0) || !std::isfinite(candidates.largest)) return false;
    const int pivot = choose_pivot(candidates, k);
    pivot_row_[k] = pivot;
    rows_ &= ~bit(pivot);
    mask_[pivot] &= ~first_bits(k + 1);
    std::array<int, BitLu::kMost> columns;
    int width = 0;
    each_bit(mask_[pivot], [&](int column) { columns[width++] = column; });
    const double inverse = 1.0 / a_[pivot * stride_ + k];
    for (int c = 0; c < candidates.count; ++c) {
      const int r = candidates.rows[c];
      if (r != pivot) take_off(pivot, r, k, inverse, columns.data(), width);
    }
    return true;
  }

  /// Solves the triangle that is left: `x` by unknown, of which unknown[k] is the k-th.
  void substitute(const std::vector<int>& unknown, double* x) const {
    std::array<double, BitLu::kMost> y;
    for (int k = size_ - 1; k >= 0; --k) {
      const int r = pivot_row_[k];
      const double* row = a_ + r * stride_;
      double sum = b_[r];
      each_bit(mask_[r], [&](int column) { sum -= row[column] * y[column]; });
      y[k] = sum / row[k];
      x[unknown[k]] = y[k];
    }
  }

 private:
  /// Rows for the pivot of a column: those left whose entry there is not 0.
  struct Candidates {
    std::array<int, BitLu::kMost> rows;
    int count = 0;
    double largest = 0.0;  ///< Of their entries.
  };

  [[nodiscard]] Candidates candidates_of(int k) const {
    Candidates found;
    int count = 0;
    double largest = 0.0;
    each_bit(rows_ & in_rows_[k], [&](int r) {
      const double size = std::abs(a_[r * stride_ + k]);
      if (size == 0.0) return;
      found.rows[count++] = r;
      if (size > largest) largest = size;
    });
    found.count = count;
    found.largest = largest;
    return found;
  }

  /// The candidate with fewest entries among those not too small.
  [[nodiscard]] int choose_pivot(const Candidates& candidates, int k) const {
    if (candidates.count == 1) return candidates.rows[0];
    int pivot = -1;
    int fewest = BitLu::kMost + 1;
    for (int c = 0; c < candidates.count; ++c) {
      const int r = candidates.rows[c];
      if (!(std::abs(a_[r * stride_ + k]) >= 0.1 * candidates.largest)) continue;
      const int entries = std::popcount(mask_[r]);
      if (entries < fewest) {
        fewest = entries;
        pivot = r;
      }
    }
    assert(pivot >= 0 && "the largest entry is itself no candidate");
    return pivot;
  }

  /// Takes the pivot's row off row `r`; `columns` are those of its entries beyond `k`.
  void take_off(int pivot, int r, int k, double inverse, const int* columns,
                int width) {
    const double* row = a_ + pivot * stride_;
    double* target = a_ + r * stride_;
    const double factor = target[k] * inverse;
    for (int j = 0; j < width; ++j) target[columns[j]] -= factor * row[columns[j]];
    b_[r] -= factor * b_[pivot];
    const Mask beyond = mask_[pivot];
    each_bit(beyond & ~mask_[r], [&](int column) { in_rows_[column] |= bit(r); });
    mask_[r] = (mask_[r] | beyond) & ~bit(k);
  }

  const int size_;
  const std::ptrdiff_t stride_;
  double* const a_;
  double* const b_;
  Mask rows_;                               // Not yet pivots.
  std::array<Mask, BitLu::kMost> mask_;     // Columns of a row that are not 0.
  std::array<Mask, BitLu::kMost> in_rows_;  // Rows of a column that are not.
  std::array<int, BitLu::kMost> pivot_row_;
};

}  // namespace

BitLu::BitLu(std::vector<std::uint64_t> pattern)
    : size_(static_cast<int>(pattern.size())), place_(pattern.size()) {
  assert(size_ <= kMost && "a larger system needs the sparse solver");
  unknown_ = elimination_order(pattern);
  for (int k = 0; k < size_; ++k) place_[unknown_[k]] = k;
  pattern_.assign(size_, 0);
  transposed_.assign(size_, 0);
  for (int r = 0; r < size_; ++r) {
    each_bit(pattern[r], [&](int c) {
      pattern_[r] |= bit(place_[c]);
      transposed_[place_[c]] |= bit(r);
    });
  }
}

int BitLu::solve(double* a, double* b, double* x) const {
  Elimination elimination(size_, a, b, pattern_, transposed_);
  for (int k = 0; k < size_; ++k) {
    if (!elimination.eliminate(k)) return unknown_[k];
  }
  elimination.substitute(unknown_, x);
  return -1;
}

}  // namespace benchproof
