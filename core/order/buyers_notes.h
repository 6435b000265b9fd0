#pragma once

#include <string>
#include <vector>

#include "core/circuit/circuit.h"
#include "core/order/shopping_list.h"

namespace benchproof {

/// What a person should know when buying and fitting the parts of a line. Common
/// practice, no source.
[[nodiscard]] std::vector<BuyersNote> buyers_notes(const Circuit& circuit,
                                                   const OrderLine& line);

}  // namespace benchproof
