#include "core/catalogue/read/figure_order.h"

#include <fmt/format.h>

#include <array>

#include "core/base/complaints.h"

namespace benchproof {
namespace {

constexpr bool kAbove = true;
constexpr bool kAtMost = false;
constexpr std::string_view kReverseWhy =
    "the capacitance from drain to gate is a part of it";

constexpr std::array kOrders{
    FigureOrder{KindId::motor, "start_current", kAbove, "current",
                "a motor draws most while it stands still"},
    FigureOrder{KindId::mosfet, "reverse_capacitance", kAtMost, "input_capacitance",
                kReverseWhy},
    FigureOrder{KindId::mosfet, "reverse_capacitance", kAtMost, "output_capacitance",
                kReverseWhy},
};

}  // namespace

std::span<const FigureOrder> figure_orders() { return kOrders; }

std::optional<OrderProblem> order_problem(const FigureOrder& order,
                                          std::string_view name,
                                          const std::optional<Figure>& value,
                                          const std::optional<Figure>& other) {
  if (!value || !other) return std::nullopt;
  const bool holds =
      order.is_above ? value->value > other->value : value->value <= other->value;
  if (holds) return std::nullopt;
  const std::string bound = format_quantity(other->value, other->unit);
  return OrderProblem{
      fmt::format("'{}' of {} is {}, {} its '{}' of {}", order.key, quoted(name),
                  format_quantity(value->value, value->unit),
                  order.is_above ? "not above" : "above", order.other, bound),
      fmt::format("'{}' must be {} '{}': {}", order.key,
                  order.is_above ? "above" : "at most", order.other, order.why)};
}

}  // namespace benchproof
