#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/network/witnesses.h"
#include "core/tolerance/copy/share.h"
#include "core/tolerance/states/copied_state.h"

namespace benchproof {

/// How often what falls where, between two ends, in cells of equal width. What lies
/// beyond an end counts in the last cell there.
struct Histogram {
  double least = 0.0;
  double most = 0.0;
  std::vector<std::uint32_t> cells;

  [[nodiscard]] double cells_per_unit() const;
  /// Counts a value; `per_unit` is cells_per_unit().
  void add(double value, double per_unit);
  /// The value below which that share lies, to a cell's width.
  [[nodiscard]] double at(double share) const;
};

/// What the copies show of one gauge.
struct GaugeCopies {
  std::size_t failed = 0;
  double mean = 0.0;
  double deviation = 0.0;  ///< Of the copies, not of their mean.
  double least = 0.0;      ///< Of all copies.
  double most = 0.0;
  Histogram histogram;
};

/// What the copies of a circuit show.
struct CopiesResult {
  std::size_t copies = 0;
  std::size_t works = 0;     ///< Copies in which nothing fails in any state.
  std::size_t unsolved = 0;  ///< Copies of which a state has no solution; they fail.
  std::vector<std::vector<GaugeCopies>> states;  ///< [state][gauge]
  std::vector<std::size_t> failing;  ///< The first copies that fail, up to a number.
  std::vector<char> fails;    ///< Of the first kMostInRuns copies whether each fails.
  std::size_t handed_on = 0;  ///< Networks that the batch handed on ...
  std::size_t solved = 0;     ///< ... of so many.
};

/// A copy's places: what copy `index` of series `seed` is, whatever else is asked for.
class Draw {
 public:
  Draw(const std::vector<Spread>& spreads, std::uint64_t seed);

  /// One place a spread.
  void places(std::size_t index, double* places);

 private:
  const std::vector<Spread>& spreads_;
  std::uint64_t seed_;
  std::vector<double> drawn_;  ///< One a draw, 0 to 1.
};

/// Measures copies 0 to `count - 1` in all states, several threads at once.
[[nodiscard]] CopiesResult measure_copies(const std::vector<const CopiedState*>& states,
                                          std::size_t count, std::uint64_t seed,
                                          const SideBySide& side_by_side);

/// How many copies may go through the runs, too.
inline constexpr std::size_t kMostInRuns = 5'000;

/// How many failing copies are kept.
inline constexpr std::size_t kMostFailing = 1000;

}  // namespace benchproof
