#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "core/catalogue/catalogue.h"

namespace benchproof {

/// A figure that another one of the same part bounds.
struct FigureOrder {
  KindId kind = KindId::resistor;
  std::string_view key;
  bool is_above = false;  ///< It is above the other one; else it is at most that.
  std::string_view other;
  std::string_view why;  ///< A sentence for people.
};

[[nodiscard]] std::span<const FigureOrder> figure_orders();

/// What is wrong with two figures of a part, and what is right.
struct OrderProblem {
  std::string message;
  std::string hint;
};

/// Nothing where the rule holds, or one of the two figures is not known.
[[nodiscard]] std::optional<OrderProblem> order_problem(
    const FigureOrder& order, std::string_view name, const std::optional<Figure>& value,
    const std::optional<Figure>& other);

}  // namespace benchproof
