#include <fmt/format.h>

#include <utility>

#include "core/catalogue/read/figure_order.h"
#include "core/circuit/entries/values.h"
#include "core/circuit/read/detail/part_reading.h"
#include "core/circuit/read/detail/steps.h"

// Rules that need more than one key of a part.

namespace benchproof {
namespace {

void refuse_above_60_volts(Reading& reading, double volts, const Span& span,
                           std::string_view what) {
  if (volts <= kMostSupplyVolts) return;
  complain(reading, kSupplyVoltage, span,
           fmt::format("{} is {}, above {}", what, format_quantity(volts, Unit::volt),
                       format_quantity(kMostSupplyVolts, Unit::volt, 2)),
           "this is for extra-low voltage only; above it, licensed practice and local "
           "codes come first");
}

void check_supply(Reading& reading, const Part& part) {
  const std::string name = quoted(part.name);
  const auto voltage = figure(part, "voltage");
  const auto no_load = figure(part, "no_load");
  const bool is_regulated = flag(part, "regulated", true);
  if (voltage)
    refuse_above_60_volts(reading, voltage->value, span_of(part, "voltage"),
                          fmt::format("the voltage of {}", name));
  if (!flag(part, "isolated", true))
    complain(reading, kSupplyMains, span_of(part, "isolated"),
             fmt::format("{} is not isolated from the mains", name),
             "touching any part of such a circuit can kill; use an isolated supply");
  if (is_regulated && no_load) {
    complain(reading, kSupplyNoLoad, span_of(part, "no_load"),
             fmt::format(
                 "{} is regulated, so it has no voltage of its own without load", name),
             "leave out 'no_load', or say regulated = false");
  } else if (!is_regulated && (!no_load || !figure(part, "current"))) {
    complain(reading, kSupplyNoLoad, span_of(part, "regulated"),
             fmt::format("{} is unregulated and needs 'no_load' and 'current'", name),
             "they give its source resistance: (no_load - voltage) / current");
  } else if (!is_regulated && voltage && no_load->value <= voltage->value) {
    complain(reading, kSupplyNoLoad, span_of(part, "no_load"),
             fmt::format("{} without load gives {}, not more than the {} at full load",
                         name, format_quantity(no_load->value, Unit::volt),
                         format_quantity(voltage->value, Unit::volt)));
  } else if (!is_regulated) {
    refuse_above_60_volts(reading, no_load->value, span_of(part, "no_load"),
                          fmt::format("the no-load voltage of {}", name));
  }
}

/// Where the last of the two keys stands that the part is given: a state's own stands
/// behind the part's.
const Span& later_span(const Part& part, std::string_view key, std::string_view other) {
  if (!part.settings.contains(key)) return span_of(part, other);
  const Span& first = span_of(part, key);
  const Span& second = span_of(part, other);
  if (!part.settings.contains(other) || first.in_change) return first;
  return second.in_change || second.begin > first.begin ? second : first;
}

/// Refuses figures that contradict each other, where the description gives one of them.
void check_orders(Reading& reading, const Part& part) {
  for (const FigureOrder& order : figure_orders()) {
    if (order.kind != part.kind) continue;
    auto problem = order_problem(order, part.name, figure(part, order.key),
                                 figure(part, order.other));
    if (!problem) continue;
    complain(reading, kFigureOrder, later_span(part, order.key, order.other),
             std::move(problem->message), std::move(problem->hint));
  }
}

}  // namespace

const std::string* given_text(const Part& part, std::string_view key) {
  const auto found = part.settings.find(key);
  return found == part.settings.end() ? nullptr
                                      : std::get_if<std::string>(&found->second.value);
}

const Span& span_of(const Part& part, std::string_view key) {
  const auto found = part.settings.find(key);
  return found == part.settings.end() ? part.span : found->second.span;
}

void check_part(Reading& reading, const Part& part) {
  if (part.kind == KindId::dc_supply) check_supply(reading, part);
  check_orders(reading, part);
  if (part.kind == KindId::battery) {
    const auto volts = figure(part, "open_circuit");
    const auto cells = figure(part, "cells");
    if (volts)
      refuse_above_60_volts(reading, volts->value * (cells ? cells->value : 1.0),
                            span_of(part, "cells"),
                            fmt::format("the voltage of {}", quoted(part.name)));
  }
}

}  // namespace benchproof
