#pragma once

#include <string>

#include "cli/render/verify/report.h"
#include "core/order/shopping_list.h"

namespace benchproof {

/// A shopping list and the description that it was made for.
struct ShoppingReport {
  FileReport file;  ///< Read, and every steady state judged.
  ShoppingList list;
  Derating derating;
};

/// The list for people: at most kLineWidth columns, ASCII but for the description's own
/// words. What stands against building the circuit comes first.
[[nodiscard]] std::string shopping_text(const ShoppingReport& report, bool colour);

/// One line for people: the verdict on the circuit, and what it means for buying. For
/// standard error, beside a form of the list that has no place for it.
[[nodiscard]] std::string shopping_verdict(const ShoppingReport& report);

/// The list as a JSON object, layout 1; without a final line feed. Numbers are in SI
/// units and never rounded; what is not known is null.
[[nodiscard]] std::string shopping_json(const ShoppingReport& report);

/// The list as CSV (RFC 4180): a header, then one row for each line of the list.
[[nodiscard]] std::string shopping_csv(const ShoppingReport& report);

}  // namespace benchproof
