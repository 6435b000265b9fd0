#pragma once

#include <optional>
#include <vector>

#include "core/sizing/detail/figures.h"
#include "core/sizing/size.h"

namespace benchproof {

/// Values that are to be judged.
struct Choices {
  std::vector<std::vector<double>> values;  ///< By value; pairs by how near they come.
  /// The present ones, where they are among them because they keep to a bound already.
  std::optional<std::vector<double>> present;
};

/// How far values lie from the present ones, summed up: as logarithms where both are
/// above 0.
[[nodiscard]] double away(const SizeRequest& request,
                          const std::vector<double>& values);

/// Looks for the values that meet the goal, and chooses those to be judged. Notes what
/// was found of the exact values and of what the figure reaches.
[[nodiscard]] Choices find_choices(Figures& figures, const SizeRequest& request,
                                   Sizing& sizing);

}  // namespace benchproof
