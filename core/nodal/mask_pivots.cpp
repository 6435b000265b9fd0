#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstddef>

#include "core/nodal/detail/pivots.h"

namespace benchproof {
namespace {

using Mask = std::uint64_t;

constexpr double kPivotThreshold = 0.1;

constexpr Mask bit(int k) { return Mask{1} << k; }

/// The lowest `count` bits.
constexpr Mask first_bits(int count) {
  return count == kMostByMasks ? ~Mask{0} : bit(count) - 1;
}

/// Calls visit(k) for every bit k of the mask, lowest first.
template <class Visit>
void each_bit(Mask mask, const Visit& visit) {
  for (; mask != 0; mask &= mask - 1) visit(std::countr_zero(mask));
}

using Masks = std::array<Mask, kMostByMasks>;

/// The unknowns in the order of fewest neighbours; `pattern` has the columns of each
/// row.
std::vector<int> fewest_neighbours_first(const Masks& pattern, int size) {
  Masks graph{};
  for (int r = 0; r < size; ++r) {
    graph[r] |= pattern[r] | bit(r);
    each_bit(pattern[r], [&](int c) { graph[c] |= bit(r); });
  }
  std::array<int, kMostByMasks> degrees;
  for (int node = 0; node < size; ++node) degrees[node] = std::popcount(graph[node]);
  std::vector<int> order;
  order.reserve(size);
  Mask left = first_bits(size);
  while (left != 0) {
    int best = -1;
    int fewest = kMostByMasks + 1;
    each_bit(left, [&](int node) {
      if (degrees[node] < fewest) {
        fewest = degrees[node];
        best = node;
      }
    });
    assert(best >= 0 && "no node left has fewer than 65 neighbours");
    left &= ~bit(best);
    const Mask neighbours = graph[best] & left;
    each_bit(neighbours, [&](int node) {
      graph[node] = (graph[node] | neighbours) & left;
      degrees[node] = std::popcount(graph[node]);
    });
    order.push_back(best);
  }
  return order;
}

/// One elimination of a matrix whose columns are in the order in which they are taken:
/// the entries, and which of them are in use.
class MaskedRows {
 public:
  MaskedRows(int size, double* a, const std::vector<Mask>& pattern,
             const std::vector<Mask>& transposed)
      : stride_(size), a_(a), rows_(first_bits(size)) {
    std::copy(pattern.begin(), pattern.end(), columns_in_.begin());
    std::copy(transposed.begin(), transposed.end(), rows_in_.begin());
  }

  /// Eliminates column `k` from the rows that are left, and returns its pivot's row; -1
  /// if it has none.
  int eliminate(int k) {
    const Candidates candidates = candidates_of(k);
    if (!(candidates.largest > 0.0) || !std::isfinite(candidates.largest)) return -1;
    const int pivot = choose_pivot(candidates, k);
    rows_ &= ~bit(pivot);
    columns_in_[pivot] &= ~first_bits(k + 1);
    const double inverse = 1.0 / a_[pivot * stride_ + k];
    for (int c = 0; c < candidates.count; ++c) {
      const int r = candidates.rows[c];
      if (r != pivot) take_off(pivot, r, k, inverse);
    }
    return pivot;
  }

 private:
  /// Rows for the pivot of a column: those left whose entry there is not 0.
  struct Candidates {
    std::array<int, kMostByMasks> rows;
    int count = 0;
    double largest = 0.0;  ///< Of their entries.
  };

  [[nodiscard]] Candidates candidates_of(int k) const {
    Candidates found;
    int count = 0;
    double largest = 0.0;
    each_bit(rows_ & rows_in_[k], [&](int r) {
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
    int fewest = kMostByMasks + 1;
    for (int c = 0; c < candidates.count; ++c) {
      const int r = candidates.rows[c];
      if (!(std::abs(a_[r * stride_ + k]) >= kPivotThreshold * candidates.largest))
        continue;
      const int entries = std::popcount(columns_in_[r]);
      if (entries < fewest) {
        fewest = entries;
        pivot = r;
      }
    }
    assert(pivot >= 0 && "the largest entry is itself no candidate");
    return pivot;
  }

  /// Takes the pivot's row off row `r`.
  void take_off(int pivot, int r, int k, double inverse) {
    const double* row = a_ + pivot * stride_;
    double* target = a_ + r * stride_;
    const double factor = target[k] * inverse;
    const Mask beyond = columns_in_[pivot];
    each_bit(beyond, [&](int column) { target[column] -= factor * row[column]; });
    each_bit(beyond & ~columns_in_[r], [&](int column) { rows_in_[column] |= bit(r); });
    columns_in_[r] = (columns_in_[r] | beyond) & ~bit(k);
  }

  const std::ptrdiff_t stride_;
  double* const a_;
  Mask rows_;         ///< Not yet pivots.
  Masks columns_in_;  ///< Columns of a row that are not 0.
  Masks rows_in_;     ///< Rows of a column that are not.
};

class MaskPivots : public PivotSearch {
 public:
  explicit MaskPivots(const Pattern& pattern) : pattern_(pattern) {
    const int size = pattern.size();
    assert(size <= kMostByMasks && "a larger system needs KLU");
    columns_in_.resize(size);
    rows_in_.resize(size);
    Masks rows{};
    for (int c = 0; c < size; ++c) {
      for (int e = pattern.first[c]; e < pattern.first[c + 1]; ++e)
        rows[pattern.rows[e]] |= bit(c);
    }
    unknowns_ = fewest_neighbours_first(rows, size);
    for (int k = 0; k < size; ++k) {
      const int c = unknowns_[k];
      for (int e = pattern.first[c]; e < pattern.first[c + 1]; ++e) {
        columns_in_[pattern.rows[e]] |= bit(k);
        rows_in_[k] |= bit(pattern.rows[e]);
      }
    }
  }

  Pivots choose(const double* a) override {
    const int size = pattern_.size();
    std::array<double, std::size_t{kMostByMasks} * kMostByMasks> dense;
    std::fill_n(dense.begin(), size * size, 0.0);
    for (int k = 0; k < size; ++k) {
      const int c = unknowns_[k];
      for (int e = pattern_.first[c]; e < pattern_.first[c + 1]; ++e)
        dense[pattern_.rows[e] * size + k] = a[e];
    }
    MaskedRows rows(size, dense.data(), columns_in_, rows_in_);
    Pivots pivots{std::vector<int>(size), unknowns_};
    for (int k = 0; k < size; ++k) {
      pivots.rows[k] = rows.eliminate(k);
      if (pivots.rows[k] < 0) {
        pivots.without = unknowns_[k];
        break;
      }
    }
    return pivots;
  }

 private:
  const Pattern& pattern_;
  std::vector<int> unknowns_;
  std::vector<Mask> columns_in_;  ///< By row, columns in the order of unknowns_.
  std::vector<Mask> rows_in_;     ///< By column in that order.
};

}  // namespace

std::unique_ptr<PivotSearch> pivots_by_masks(const Pattern& pattern) {
  return std::make_unique<MaskPivots>(pattern);
}

}  // namespace benchproof
