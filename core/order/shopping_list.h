#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "core/base/preferred.h"
#include "core/circuit/circuit.h"
#include "core/order/least_ratings.h"
#include "core/verify/verify.h"

namespace benchproof {

/// How a resistance, capacitance or inductance is sold and marked.
struct SoldValue {
  double value = 0.0;  ///< In `unit`.
  Unit unit = Unit::ohm;
  std::string code;              ///< IEC 60062: "4k7".
  std::optional<Series> series;  ///< The coarsest that it is in, of those that such
                                 ///< parts are sold in; not told for a trimmer.
  /// Where it is in none: the nearest value of a usual and of a fine series.
  std::vector<std::pair<Series, double>> nearest;
  std::optional<double> tolerance;  ///< A fraction; of resistors also an assumed one.
  std::vector<std::string_view> bands;  ///< Of a resistor; empty: the code has none.
};

/// A remark for the person who buys; common practice, no source.
using BuyersNote = std::string;

/// What is ordered together: parts of one kind and type, with the same figures.
struct OrderLine {
  KindId kind = KindId::resistor;
  std::string type;  ///< Name of the catalogue's type, "warm white", "alkaline AA" ...;
                     ///< empty where there is none.
  std::string what;  ///< All that the description says about what it is.
  std::vector<int> parts;  ///< In the circuit; at least one, in its order.
  int pieces = 0;          ///< Parts; of batteries cells; of wire lengths.
  double metres = 0.0;     ///< Of wire, all lengths together.
  std::optional<SoldValue> value;
  std::vector<LeastRating> ratings;  ///< Over all its parts and all steady states.
  std::vector<BuyersNote> notes;
};

struct ShoppingList {
  std::vector<OrderLine> lines;  ///< In the order of the description.
  std::vector<int> not_bought;   ///< Raw sources: nothing that a shop has.
  int pieces = 0;                ///< All lines together, wire not counted.
  /// Why no line has ratings; empty where they have.
  std::string without_ratings;
};

/// A figure as it is printed on parts and in shops: "0.25 W", "22 uF", "12 V".
[[nodiscard]] std::string shop_text(double value, Unit unit);

/// What to buy for a circuit. `verification` is that of all its steady states; only if
/// the witnesses agree in every one of them are there least ratings. Runs are not
/// looked at.
/// @throws std::invalid_argument for a share that is not above 0 and at most 1.
[[nodiscard]] ShoppingList shopping_list(const Circuit& circuit,
                                         const Verification& verification,
                                         const Derating& derating = {});

}  // namespace benchproof
