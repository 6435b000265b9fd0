#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "core/base/preferred.h"
#include "core/base/quantity.h"
#include "core/circuit/circuit.h"

namespace benchproof {

/// A value to be chosen: the number behind a part's key.
struct SizedKey {
  int part = -1;
  std::string key;
  Unit unit = Unit::none;
  double least = 0.0;  ///< The bounds of the search, both included.
  double most = 0.0;
  std::optional<double> present;  ///< As the description has it.
  std::optional<Series> series;   ///< Of a pair: its own, in place of the request's.
};

/// A part of a block, written with points, by its name: "house1.r" is house1/r.
[[nodiscard]] std::string with_slashes(const Circuit& circuit, std::string_view text);

/// Reads "quay_r" (its `value`) or "trim.turn". The bounds are those usual in the trade
/// for resistors, capacitors and inductors; of any other key its own where they are
/// narrow, else a hundredth and a hundred times the present value. Without a present
/// value they are not numbers then. Returns what is wrong with the text instead, in
/// words.
[[nodiscard]] std::variant<SizedKey, std::string> read_sized_key(const Circuit& circuit,
                                                                 std::string_view text);

/// Whether the key is a voltage that a supply makes, of which kMostRangeVolts is the
/// most that is allowed.
[[nodiscard]] bool is_supply_voltage(KindId kind, std::string_view key);

/// Puts a value behind the key.
void put_value(Circuit& circuit, const SizedKey& key, double value);

/// Puts one value behind each key.
void put_values(Circuit& circuit, const std::vector<SizedKey>& keys,
                const std::vector<double>& values);

/// Whether a state itself says what one of the values is.
[[nodiscard]] bool says(const State& state, const std::vector<SizedKey>& keys);

}  // namespace benchproof
