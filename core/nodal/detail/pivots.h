#pragma once

#include <cstdint>
#include <memory>
#include <vector>

namespace benchproof {

/// A sparse pattern by columns. Its entries have numbers, column after column.
struct Pattern {
  std::vector<int> first;  ///< The number of each column's first entry, and of the end.
  std::vector<int> rows;   ///< The row of each entry, rising within a column.

  [[nodiscard]] int size() const { return static_cast<int>(first.size()) - 1; }
  [[nodiscard]] int entries() const { return first.back(); }
};

/// In which order which entry of a matrix is made the pivot.
struct Pivots {
  std::vector<int> rows;
  std::vector<int> unknowns;
  int without = -1;  ///< An unknown for which no pivot above 0 was left; -1: none such.
};

/// Chooses pivots for matrices of one pattern: small multipliers first (no more than
/// ten), then little that fills in.
class PivotSearch {
 public:
  virtual ~PivotSearch() = default;
  /// `a`: the entries by number.
  [[nodiscard]] virtual Pivots choose(const double* a) = 0;
};

/// Up to this size the rows are bit masks, which takes a third of the time that KLU
/// takes for its analysis.
inline constexpr int kMostByMasks = 64;

/// Columns are taken in the order of fewest neighbours; rows are chosen by threshold
/// pivoting: among those whose entry is at least a tenth of the column's largest, the
/// one with fewest entries [Duff, Erisman, Reid, "Direct Methods for Sparse Matrices",
/// 2nd ed., sec. 7.3].
/// @pre pattern.size() <= kMostByMasks. The pattern must outlive what is returned.
[[nodiscard]] std::unique_ptr<PivotSearch> pivots_by_masks(const Pattern& pattern);

/// By SuiteSparse's KLU [T. A. Davis, E. Palamadai Natarajan, "Algorithm 907: KLU, a
/// direct sparse solver for circuit simulation problems", ACM Trans. Math. Softw. 37
/// (2010) 36]: blocks first, fewest neighbours within a block; a diagonal entry that is
/// at least a tenth of its column's largest, else that.
/// The pattern must outlive what is returned.
[[nodiscard]] std::unique_ptr<PivotSearch> pivots_by_klu(const Pattern& pattern);

}  // namespace benchproof
