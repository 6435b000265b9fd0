#include "core/nodal/detail/matrix.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstdint>

namespace benchproof {
namespace {

/// Multipliers beyond it call for other pivots.
constexpr double kMostGrowth = 1e4;
/// Sets of pivots that are kept: a cold start comes by the same ones each time.
constexpr std::size_t kMostKnown = 4;

/// The rows of each column as a bit mask.
Pattern small_pattern(int size, const std::vector<std::pair<int, int>>& entries) {
  std::array<std::uint64_t, kMostByMasks> rows{};
  for (const auto& [row, column] : entries) rows[column] |= std::uint64_t{1} << row;
  Pattern pattern;
  pattern.first.reserve(size + 1);
  pattern.rows.reserve(entries.size());
  for (int c = 0; c < size; ++c) {
    pattern.first.push_back(static_cast<int>(pattern.rows.size()));
    for (std::uint64_t left = rows[c]; left != 0; left &= left - 1)
      pattern.rows.push_back(std::countr_zero(left));
  }
  pattern.first.push_back(static_cast<int>(pattern.rows.size()));
  return pattern;
}

Pattern pattern_of(int size, const std::vector<std::pair<int, int>>& entries) {
  if (size <= kMostByMasks) return small_pattern(size, entries);
  std::vector<std::pair<int, int>> by_column;
  by_column.reserve(entries.size());
  for (const auto& [row, column] : entries) by_column.emplace_back(column, row);
  std::sort(by_column.begin(), by_column.end());
  by_column.erase(std::unique(by_column.begin(), by_column.end()), by_column.end());
  Pattern pattern{std::vector<int>(size + 1, 0), {}};
  pattern.rows.reserve(by_column.size());
  for (const auto& [column, row] : by_column) {
    ++pattern.first[column + 1];
    pattern.rows.push_back(row);
  }
  for (int c = 0; c < size; ++c) pattern.first[c + 1] += pattern.first[c];
  return pattern;
}

bool all_finite(const double* values, int count) {
  double nothing = 0.0;
  for (int k = 0; k < count; ++k) nothing += 0.0 * values[k];
  return nothing == 0.0;
}

}  // namespace

Matrix::Matrix(int size, const std::vector<std::pair<int, int>>& entries)
    : pattern_(pattern_of(size, entries)),
      search_(size > kMostByMasks ? pivots_by_klu(pattern_)
                                  : pivots_by_masks(pattern_)),
      right_(size),
      left_(size),
      step_(size) {}

int Matrix::slot(int row, int column) const {
  const auto begin = pattern_.rows.begin();
  const auto end = begin + pattern_.first[column + 1];
  const auto found = std::lower_bound(begin + pattern_.first[column], end, row);
  assert(found != end && *found == row && "an entry outside the pattern");
  return static_cast<int>(found - begin);
}

/// Solves if these pivots are good enough for that.
bool Matrix::step_by(const Elimination& by, const double* a, const double* left,
                     double* s) {
  work_.resize(by.slots());
  std::fill(std::copy(a, a + slots(), work_.begin()), work_.end(), 0.0);
  std::copy(left, left + size(), right_.begin());
  const double growth = by.run(work_.data(), right_.data(), s);
  return growth <= kMostGrowth && all_finite(s, size());
}

int Matrix::step(const double* a, const double* left, double* s) {
  for (auto known = known_.begin(); known != known_.end(); ++known) {
    if (!step_by(*known, a, left, s)) continue;
    std::rotate(known_.begin(), known, known + 1);
    return -1;
  }
  ++pivotings_;
  const Pivots pivots = search_->choose(a);
  if (pivots.without >= 0) return pivots.without;
  if (known_.size() == kMostKnown) known_.pop_back();
  known_.insert(known_.begin(), Elimination(pattern_, pivots));
  if (step_by(known_.front(), a, left, s)) return -1;
  const auto is_finite = [](double v) { return std::isfinite(v); };
  const double* first = std::find_if_not(s, s + size(), is_finite);
  return static_cast<int>((first == s + size() ? s : first) - s);
}

int Matrix::solve(const double* a, const double* b, double* x) {
  std::copy(b, b + size(), left_.begin());
  for (int c = 0; c < size(); ++c) {
    for (int e = pattern_.first[c]; e < pattern_.first[c + 1]; ++e)
      left_[pattern_.rows[e]] -= a[e] * x[c];
  }
  const int singular = step(a, left_.data(), step_.data());
  if (singular >= 0) return singular;
  for (int k = 0; k < size(); ++k) x[k] += step_[k];
  return -1;
}

int Matrix::solve_transposed(const double* a, int sides, const double* c, double* y) {
  if (size() == 0) return -1;
  // Solving for a right-hand side of nothing leaves the factors.
  const std::vector<double> nothing(size(), 0.0);
  std::vector<double> x(size(), 0.0);
  const int singular = solve(a, nothing.data(), x.data());
  if (singular >= 0) return singular;
  const std::size_t entries = static_cast<std::size_t>(size()) * sides;
  std::vector<double> left(c, c + entries);
  std::vector<double> step(entries);
  elimination().run_transposed(work_.data(), sides, left.data(), y);
  // Once more for what is left, as kept pivots may be poor ones.
  std::copy_n(c, entries, left.begin());
  for (int column = 0; column < size(); ++column) {
    for (int e = pattern_.first[column]; e < pattern_.first[column + 1]; ++e) {
      const double* from = y + static_cast<std::ptrdiff_t>(pattern_.rows[e]) * sides;
      double* to = left.data() + static_cast<std::ptrdiff_t>(column) * sides;
      for (int s = 0; s < sides; ++s) to[s] -= a[e] * from[s];
    }
  }
  elimination().run_transposed(work_.data(), sides, left.data(), step.data());
  for (std::size_t k = 0; k < entries; ++k) y[k] += step[k];
  return -1;
}

}  // namespace benchproof
